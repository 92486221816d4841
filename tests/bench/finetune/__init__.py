"""The tools room of the ear: makes speech, teaches the phoneme network to hear beside a motor, measures it.

Nothing here is imported by the product; torch is needed for teaching only.
"""
