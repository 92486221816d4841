"""Eggs: how much is in them by size, and what pasta with them may be called."""
