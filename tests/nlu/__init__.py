"""Grammar files, and what sentences mean."""
