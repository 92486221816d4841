"""What is told of the press: trays as they come, and how warm the strand is."""
