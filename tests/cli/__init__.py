"""Tests of the commands as their users run them."""
