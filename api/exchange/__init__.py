"""Open formats: text in, rows out; records in, text out. No database, web, clock or environment."""
