"""A kitchen's own words: what can be said, what it sounds like, and what it costs in hearing."""
