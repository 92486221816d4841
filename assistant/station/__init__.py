"""The single writer and the threads around it."""
