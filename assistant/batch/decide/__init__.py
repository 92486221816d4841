"""What is decided: a command and the state give events and announcements. Pure."""
