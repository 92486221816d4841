"""The phrase card on one page, with as many examples as have room."""

from assistant.config.language.card_groups import CardGroups
from assistant.errors import PaperError
from assistant.sheets.paper.fitting import MEDIA
from assistant.sheets.paper.paper_pages import Look, card_page
from assistant.sheets.paper.typesetting import Printout, Setting
from assistant.sheets.phrase_card import Phrases, card_blocks, further, with_more
from assistant.sheets.wording import SheetWords

_NEAR_ENOUGH = 3
"""A page that could hold so few more examples is full: setting one takes a second."""


def set_card(groups: CardGroups, phrases: Phrases, words: SheetWords, look: Look) -> tuple[str, Printout]:
    """The card as HTML and as printout. Raises PaperError where not even the first examples have room."""

    def tried(count: int) -> tuple[str, Setting]:
        html = card_page(card_blocks(groups, with_more(groups, phrases, count), words), words, look)
        return html, Setting(html)

    best, low, high = tried(0), 1, further(groups, phrases)
    if best[1].pages > 1:
        raise PaperError(
            "the phrase card does not fit on one page; name rules under left_out in card.toml, or shorten "
            "their examples."
        )
    while high - low >= _NEAR_ENOUGH:
        middle = (low + high) // 2
        found = tried(middle)
        if found[1].pages == 1:
            best, low = found, middle + 1
        else:
            high = middle - 1
    return best[0], Printout(words.text("card.title"), best[1].pdf(), MEDIA[look.paper])
