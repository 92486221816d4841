"""The steps from an empty database to today's; one that was released never changes, the next only adds."""
