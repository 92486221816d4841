"""The record of what happened: append-only events in SQLite, one decision a transaction."""
