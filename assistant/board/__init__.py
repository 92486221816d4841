"""The page on the wall: what the station knows, large enough to read across the kitchen. It only shows."""
