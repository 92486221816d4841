"""Commands in words that the grammar does not have: heard word by word, and asked about."""
