"""How well commands are heard: corpora made on the fly, tables with intervals.

`python -m tests.bench.hearing`
"""
