"""Tests of the loop, hearing, the announcer and the workers."""
