"""The guide of hardware/README.md followed word for word on a fresh Debian: `python -m tests.bench.guide`."""
