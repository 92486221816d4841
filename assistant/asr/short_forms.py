"""English short forms and what they stand for: who says "it's" may say "it is" as well. Pure."""

ENDINGS = {
    "'s": ("is", "has"),
    "'re": ("are",),
    "'ve": ("have",),
    "'m": ("am",),
    "'ll": ("will",),
    "'d": ("would",),
}
"""End of a short form -> the words that it stands for."""
WORDS = {"let's": (("let", "us"),)}
"""Short forms that stand for others than their end says."""
_FIRST = frozenset("it that there what where here how who i we you he she they one".split())  # noqa: SIM905
"""Words before such an end. Of things ("the tray's full") the grammar has both where they mean the same."""


def in_full(word: str) -> tuple[tuple[str, str], ...]:
    """The pairs of words that a short form stands for; none for any other word."""
    if word in WORDS:
        return WORDS[word]
    base, mark, end = word.rpartition("'")
    if base not in _FIRST:
        return ()
    return tuple((base, verb) for verb in ENDINGS.get(mark + end, ()))


def shorts(first: str, second: str) -> tuple[str, ...]:
    """Short forms that stand for two words; most pairs have none."""
    found = (word for word, pairs in WORDS.items() if (first, second) in pairs)
    if first not in _FIRST:
        return tuple(found)
    return (*found, *(first + end for end, verbs in ENDINGS.items() if second in verbs))
