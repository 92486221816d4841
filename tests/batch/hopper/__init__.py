"""What goes into the hopper beside flour and water, and what comes out of it."""
