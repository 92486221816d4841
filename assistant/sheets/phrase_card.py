"""The phrase card for the wall: what may be said, under its headings. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from assistant.config.language.card_groups import CardGroups
from assistant.sheets.wording import SheetWords

BETWEEN = " · "
"""Between two sentences of one rule."""

Phrases = Mapping[str, Sequence[str]]
"""Rule -> its examples, the most usual first."""


@dataclass(frozen=True, slots=True)
class Block:
    """A heading with what is said under it."""

    heading: str
    rules: tuple[tuple[str, ...], ...]
    """Sentences, rule by rule."""
    main: bool = False
    """Whether an ordinary batch is made with them: in large letters."""


def card_blocks(groups: CardGroups, phrases: Phrases, words: SheetWords) -> list[Block]:
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


def fewest(groups: CardGroups, phrases: Phrases) -> dict[str, tuple[str, ...]]:
    """The first example of each rule, and all of those that differ in meaning."""
    return {rule: tuple(said if rule in groups.whole else said[:1]) for rule, said in phrases.items()}


def with_more(groups: CardGroups, phrases: Phrases, count: int) -> dict[str, tuple[str, ...]]:
    """The fewest, and so many further examples: second ones before third ones, large letters last."""
    shown = fewest(groups, phrases)
    large = {rule for group in groups.group if group.main for rule in group.rules}
    more = sorted(
        (rule in large, place, rule)
        for rule, said in phrases.items()
        if rule not in groups.left_out
        for place in range(len(shown[rule]), len(said))
    )
    for _, place, rule in more[:count]:
        shown[rule] = (*shown[rule], phrases[rule][place])
    return shown


def further(groups: CardGroups, phrases: Phrases) -> int:
    """How many examples there are beside the fewest, of rules that the card shows."""
    said = {rule: found for rule, found in phrases.items() if rule not in groups.left_out}
    return sum(map(len, said.values())) - sum(map(len, fewest(groups, said).values()))
