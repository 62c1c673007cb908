"""Publishes what the service has decided as a static site: gathers, draws, writes, swaps. It decides nothing itself."""
