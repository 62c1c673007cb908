"""What is read from the record: rows in, frozen records out. Nothing is decided and nothing written."""
