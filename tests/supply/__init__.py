"""What is installed: the hash of every file, known weaknesses, a bill of materials."""
