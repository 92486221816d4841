"""What is done with the journal as a file, and its daily copies."""
