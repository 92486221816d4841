"""Tests of the pages without a browser."""
