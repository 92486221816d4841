"""`crumbcall sync` and what belongs to it."""
