"""Eggs: sizes, and what pasta with them may be called."""
