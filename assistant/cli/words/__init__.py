"""`crumbcall words`: a kitchen's own phrasings and names."""
