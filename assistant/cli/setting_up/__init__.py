"""`crumbcall setup` and `crumbcall support`."""
