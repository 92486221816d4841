"""Sheets and labels out of a home folder, and how they get to a printer."""
