"""What the kitchen learns from its journal while the station runs."""
