"""Text to sound: a synthesiser that writes WAV files, and a cache in front of it."""
