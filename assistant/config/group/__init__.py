"""Settings of a group of stations that share one memory."""
