"""The jug scale: converter, weight, standstill, pours, calibration."""
