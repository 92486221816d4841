"""What is printed of a kitchen's own words, and of how they sound."""

from collections import Counter
from collections.abc import Iterable, Iterator

from assistant.app.words.assessing import Assessment
from assistant.app.words.kitchen_words import KitchenWords
from assistant.app.words.new_sentences import Sample
from assistant.app.words.trial import Trial
from assistant.nlu.own import described

WELL = 0.75
"""Share of a trial that is to be heard rightly."""
MOST_MISTAKEN = 3
"""Sentences that a new one was mistaken for that are named, at most."""


def listing(words: KitchenWords) -> Iterator[str]:
    """The own words: what is said, and what it means."""
    rows = [(phrase.said, phrase.means) for phrase in words.woven.phrases]
    rows += [(name.said, f"{name.kind} {name.of}") for name in words.woven.names]
    width = min(40, max((len(said) for said, _ in rows), default=0))
    yield from (f"{said:<{width}}  {means}" for said, means in rows)
    if not rows:
        yield 'None yet. One is added so: crumbcall words add "chuck in {amount}" "water {amount}"'
    yield from (f"left out: {problem}" for problem in (*words.problems, *words.woven.unsayable))


def meanings(samples: Iterable[Sample]) -> Iterator[str]:
    """What the sentences mean."""
    yield from (f'"{sample.text}" means {described(sample.means)}.' for sample in samples)


def sounds(found: Assessment) -> Iterator[str]:
    """What they sound like, and how they were heard."""
    commands = [near for one in found.like for near in one.commands[:1]]
    if commands:
        near = min(commands, key=lambda near: near.phones)
        yield f'Sounds most like "{near.text}", {near.phones:.1f} phones away.'
    talk = [near for one in found.like for near in one.talk[:1]]
    if talk:
        near = min(talk, key=lambda near: near.phones)
        yield f'In talk most like "{near.text}", {near.phones:.1f} phones away.'
    warnings = dict.fromkeys(warning for one in found.like for warning in one.warnings)
    yield from (f"Mind: {warning}." for warning in warnings)
    if found.trial is not None:
        yield from heard(found.trial)
    elif found.silent:
        yield f"Not tried by ear: {found.silent}."


def heard(trial: Trial) -> Iterator[str]:
    """What came of a trial by ear."""
    asked = sum(one.asked for one in trial.new)
    unsure = f", {asked} of them asked about" if asked else ""
    worse = [f'"{one.text}" {one.right} of {one.of}, before {one.before}' for one in trial.worse]
    mistaken = Counter(text for one in trial.new for text in one.mistaken)
    taken = [
        f'"{one.text}" was taken {one.of - one.right} of {one.of} times, as "{one.mistaken[0]}"'
        for one in trial.taken
    ]
    rest = f"heard worse: {'; '.join(worse)}" if worse else "nothing else is heard worse"
    yield f"Heard {trial.right} of {trial.of}{unsure}; {rest}."
    if mistaken:
        others = (f'"{text}" {times} of {trial.of}' for text, times in mistaken.most_common(MOST_MISTAKEN))
        yield f"Mistaken for {', '.join(others)}."
    if trial.right < WELL * trial.of:
        yield "That is badly heard: take other words, or say with --sounds how it sounds."
    if taken:
        yield f"Talk is taken for a command: {'; '.join(taken)}."
