"""The fault bench: what a kitchen does to a station, and what is lost by it."""
