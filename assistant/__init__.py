"""Crumbcall: an offline voice-and-timer assistant for the cook who makes extruded pasta dough."""

__version__ = "0.1.0"
