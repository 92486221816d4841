"""Microphone and speaker each in a process of its own: a driver that hangs takes nothing with it."""
