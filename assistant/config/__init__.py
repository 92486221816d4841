"""What a kitchen writes down: its home folder, settings, recipes, lots, walk-throughs, day plan."""
