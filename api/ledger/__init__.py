"""Bytes in, bytes out: digests and the chain of log entries. Knows no table and no record."""
