"""Signs that the station lives, and what it is like: for a page, and for the time after a power cut."""
