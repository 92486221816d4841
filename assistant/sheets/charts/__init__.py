"""Figures as Vega-Lite specs, plain dicts with their data inside, each with the table of the same figures."""
