"""A station in its group: built from its home and settings; the files that it takes over or gives."""
