"""Files of a language: pronunciations, walk-throughs, the scene of a rehearsal."""
