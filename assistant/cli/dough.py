"""`crumbcall dough`: the dough's arithmetic as a calculator for the bench."""

from assistant.cli import dough_parts, dough_water
from assistant.cli.dough_answers import dough_command

__all__ = ["dough_command", "dough_parts", "dough_water"]
