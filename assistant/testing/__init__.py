"""Fakes of the ports, and the contract check (`check_...`) that every implementation of a port must pass."""
