"""Tests of the pages behind the page on the wall."""
