"""`crumbcall check`."""
