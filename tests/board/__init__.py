"""Tests of the page on the wall."""
