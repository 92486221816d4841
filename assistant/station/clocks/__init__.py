"""Clocks of the station: one that a cook may tell the time."""
