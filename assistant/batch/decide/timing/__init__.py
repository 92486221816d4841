"""What is decided about time: mixing, resting, timers, and what rings."""
