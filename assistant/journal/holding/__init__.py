"""What a journal needs whose storage fails: a copy in memory, and a limit to how long a write may take."""
