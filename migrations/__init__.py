"""The record's tables over time, one sentence a revision. A released migration is never edited."""
