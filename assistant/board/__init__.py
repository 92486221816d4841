"""The pages: what the station knows, large enough to read across the kitchen, and what can be pressed."""
