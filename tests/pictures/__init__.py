"""The pictures of the README, drawn from what the program says."""
