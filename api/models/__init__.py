"""The tables and their constraints. No decisions: what is written is decided in `keeping` and `actions`."""
