"""The composition root and the programs that it composes: stations, rehearsal, hearing trial, benchmarks."""
