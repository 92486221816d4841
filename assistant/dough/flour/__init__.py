"""Flours and lots: grain, moisture, gluten; how a lot moves, how cooks judge it, how wide ready is."""
