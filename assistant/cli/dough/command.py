"""`crumbcall dough`: the dough's arithmetic as a calculator for the bench."""

from assistant.cli.dough import egg, heat, limits, parts, served, water
from assistant.cli.dough.answers import dough_command

__all__ = ["dough_command", "egg", "heat", "limits", "parts", "served", "water"]
