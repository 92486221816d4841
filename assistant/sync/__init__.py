"""One memory for a group of stations, in a PostgreSQL: their records go there, what others know comes back.

A station needs none of it: it works alone for as long as the server is away, and goes on where it stopped.
"""
