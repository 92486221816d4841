"""Whether a grammar may be used: every sentence of it means one command, by one reading."""
