"""What takes long to make of a grammar, kept in files between two starts."""
