"""Drawings as SVG, by our own writer: a title and a description for those who cannot see them, no script, no own style."""
