"""What is to be printed: its events, and the jobs that wait."""
