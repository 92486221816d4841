"""Plan and trays as the appointments of a calendar: what they are, and how they are written."""
