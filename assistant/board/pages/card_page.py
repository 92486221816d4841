"""The phrase card on a screen. Pure."""

from collections.abc import Sequence

from assistant.board.pages.page_blocks import Lines, Lists, Page
from assistant.board.pages.page_words import PageWords


def card_page(card: Sequence[tuple[str, tuple[str, ...]]], words: PageWords) -> Page:
    """What can be said, under the headings of the card."""
    return Page(words.text("title.card"), [Lines((words.text("card.note"),)), Lists(tuple(card))])
