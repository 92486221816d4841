"""What runs in a process of its own beside the station."""
