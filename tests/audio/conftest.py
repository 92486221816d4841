"""The virtual sound card, for every test of this folder."""

from tests.audio.virtual_card import virtual_card

__all__ = ["virtual_card"]
