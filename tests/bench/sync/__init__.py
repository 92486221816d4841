"""A group of many stations on one server: how fast it takes what they record, how fast it answers."""
