"""What is decided about the batch itself: its flour, its water, its crumb, and what comes out of the die."""
