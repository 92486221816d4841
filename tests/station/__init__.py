"""Tests of the loop, the ears, the mouth and the workers."""
