"""Fakes that ship, and the contract check that every implementation of a port must pass."""
