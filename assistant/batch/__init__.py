"""The batch as a functional core: commands in, events and announcements out; no clock, no thread, no I/O."""
