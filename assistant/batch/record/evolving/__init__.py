"""How the state follows from the events: the table of transitions, the changes, and undo."""
