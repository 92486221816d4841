"""The commands of the program; each module holds the commands of one kind."""

from assistant.cli.root import crumbcall

__all__ = ["crumbcall"]
