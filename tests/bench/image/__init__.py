"""A card image that is made, started on an emulated arm64 machine, and cut off from its power."""
