"""Arithmetic of the dough: pure functions in grams, percent, degrees Celsius and seconds."""
