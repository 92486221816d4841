"""How quick and how small the page on the wall is."""
