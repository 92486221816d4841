"""Tests of the commands that read what was recorded."""
