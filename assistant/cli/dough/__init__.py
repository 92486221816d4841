"""`crumbcall dough`."""
