"""The pages of a station, put together."""
