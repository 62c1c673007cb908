"""The steps that several jobs share: judge on file, keep content, append to the log, issue a certificate. No commits."""
