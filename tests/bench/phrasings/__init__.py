"""The listed phrasings, and talk, by voices: who is understood, and what is acted on.

`python -m tests.bench.phrasings`
"""
