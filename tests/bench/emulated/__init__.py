"""The program on emulated arm64; see RESULTS.md. Kept out of the tests, for its length."""
