"""The virtual sound card, for the page of a live station."""

from tests.audio.virtual_card import virtual_card

__all__ = ["virtual_card"]
