"""The virtual sound card, for the tests of this folder that want one."""

from tests.audio.virtual_card import virtual_card

__all__ = ["virtual_card"]
