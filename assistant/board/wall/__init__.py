"""What the page on the wall shows, as plain values and texts, and which buttons it offers. Pure."""
