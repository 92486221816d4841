"""The search for the sentences of a grammar that fit what networks heard."""
