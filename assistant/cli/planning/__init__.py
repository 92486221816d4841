"""`crumbcall plan`."""
