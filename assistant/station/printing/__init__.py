"""What prints beside the station."""
