"""The phrase card for the wall: what may be said, as text and as an A4 page (SVG). Pure.

Every letter of the page is as wide as every other, so its lines are measured by counting. Lengths in mm.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from textwrap import wrap

from assistant.config.language.card_groups import CardGroups
from assistant.errors import SettingsError
from assistant.sheets.wording import SheetWords

WIDTH, HEIGHT = 210.0, 297.0
MARGIN, GAP = 9.0, 5.0
COLUMN = (WIDTH - 2 * MARGIN - GAP) / 2
FONTS = "DejaVu Sans Mono, Menlo, monospace"
ADVANCE = 0.602
"""Width of a letter of these fonts, in font sizes."""
CAPITAL = 0.729
"""Height of a capital, likewise."""
MAIN, OTHER, HEADING, TITLE = 7.0, 4.1, 3.8, 9.0
"""Font sizes. Main phrases have letters of 5.1 mm: to be read from the machine, 1.5 m away."""
LEADING = 1.2
_TOP, _BOTTOM = 23.0, 15.0
_BEFORE_HEADING = 2.6
_INK, _QUIET, _RULE = "#1c2b24", "#5a6a60", "#b5532a"
BETWEEN = " · "
"""Between two sentences of one rule."""


@dataclass(frozen=True, slots=True)
class Block:
    """A heading with what is said under it."""

    heading: str
    rules: tuple[tuple[str, ...], ...]
    """Sentences, rule by rule."""
    main: bool = False

    @property
    def size(self) -> float:
        """Font size of its sentences (mm)."""
        return MAIN if self.main else OTHER

    @property
    def lines(self) -> list[str]:
        """In lines as wide as a column: short sentences of one rule share one, a long one is folded."""
        letters = int(COLUMN / (ADVANCE * self.size))
        found: list[str] = []
        for sentences in self.rules:
            line = ""
            for sentence in sentences:
                if line and len(line + BETWEEN + sentence) <= letters:
                    line += BETWEEN + sentence
                    continue
                found += wrap(line, letters, subsequent_indent="  ")
                line = sentence
            found += wrap(line, letters, subsequent_indent="  ")
        return found

    @property
    def height(self) -> float:
        """What it takes of a column (mm)."""
        return _BEFORE_HEADING + LEADING * (HEADING + self.size * len(self.lines))


def card_blocks(groups: CardGroups, phrases: Mapping[str, Sequence[str]], words: SheetWords) -> list[Block]:
    """What the card shows of a grammar, in its order; rules that no group names come last."""

    def said(rules: Iterable[str]) -> tuple[tuple[str, ...], ...]:
        return tuple(tuple(phrases[rule]) for rule in rules if phrases.get(rule))

    named = {rule for group in groups.group for rule in group.rules} | groups.left_out.keys()
    blocks = [
        Block(words.text(f"card.group.{group.name}"), said(group.rules), group.main) for group in groups.group
    ]
    blocks.append(Block(words.text("card.own"), said(rule for rule in phrases if rule not in named)))
    return [block for block in blocks if block.rules]


def card_text(blocks: Sequence[Block], words: SheetWords) -> str:
    """The card as lines of text."""
    parts = [words.text("card.title")]
    for block in blocks:
        said = [f"  {BETWEEN.join(sentences)}" for sentences in block.rules]
        parts.append("\n".join([block.heading, *said]))
    parts.append(words.text("card.note"))
    return "\n\n".join(parts)


def card_figure(groups: CardGroups, phrases: Mapping[str, Sequence[str]], words: SheetWords) -> str:
    """The card as an A4 page, SVG text: the first example of each rule, and of the others what has room.

    Raises SettingsError (one line) where not even the first ones have room.
    """
    shown = {rule: said if rule in groups.whole else said[:1] for rule, said in phrases.items()}
    blocks = card_blocks(groups, shown, words)
    if (over := _too_long(blocks)) > 0:
        raise SettingsError(
            f"the phrase card is {over:.0f} mm longer than an A4 page; name rules under left_out in "
            "card.toml, or shorten their examples."
        )
    for rule, said in phrases.items():
        for one in said[len(shown[rule]) :]:
            more = {**shown, rule: [*shown[rule], one]}
            tried = card_blocks(groups, more, words)
            if _too_long(tried) <= 0:
                shown, blocks = more, tried
    return _page(in_columns(blocks), words)


def in_columns(blocks: Sequence[Block]) -> tuple[Sequence[Block], Sequence[Block]]:
    """The blocks in their order in two columns, the longer one as short as can be."""
    splits = [(blocks[:place], blocks[place:]) for place in range(len(blocks) + 1)]
    return min(splits, key=lambda split: max(map(_height, split)))


def _too_long(blocks: Sequence[Block]) -> float:
    """By how much the longer column is past the end of the page (mm); negative: what is left."""
    return max(map(_height, in_columns(blocks))) - (HEIGHT - _TOP - _BOTTOM)


def _height(blocks: Sequence[Block]) -> float:
    return sum(block.height for block in blocks)


def _page(columns: Sequence[Sequence[Block]], words: SheetWords) -> str:
    title, note = escape(words.text("card.title")), escape(words.text("card.note"))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}mm" height="{HEIGHT:g}mm" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" font-family="{FONTS}" fill="{_INK}">',
        f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="#fff"/>',
        _text(MARGIN, MARGIN + 0.8 * TITLE, TITLE, title, 'font-weight="bold"'),
        f'<path d="M{MARGIN:g} {_TOP - 3:g}H{WIDTH - MARGIN:g}" stroke="{_RULE}" stroke-width="0.8"/>',
    ]
    for place, blocks in enumerate(columns):
        left, y = MARGIN + place * (COLUMN + GAP), _TOP
        for block in blocks:
            y += _BEFORE_HEADING + HEADING
            heading = escape(block.heading.upper())
            parts.append(_text(left, y, HEADING, heading, f'fill="{_RULE}" font-weight="bold"'))
            y += HEADING * (LEADING - 1)
            for line in block.lines:
                y += block.size * LEADING
                parts.append(_text(left, y - block.size * (LEADING - 1), block.size, escape(line)))
    parts.append(_text(MARGIN, HEIGHT - MARGIN, OTHER, note, f'fill="{_QUIET}"'))
    return "\n".join([*parts, "</svg>"]) + "\n"


def _text(x: float, y: float, size: float, text: str, more: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" xml:space="preserve" {more}>{text}</text>'
