"""How many of the listed sentences are understood: `python -m tests.phrasings.run tuning --show`.

The real station hears each sentence in a fresh moment, as a keyboard and as a voice that is surely heard.
Sentences of the held-back half are printed only where CRUMBCALL_SHOW_HELD_BACK=1 is set.
"""

import argparse
import os
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from assistant.batch.record.events import Source
from tests.phrasings.expectations import OUTCOMES, TALK_OUTCOMES, Said, judge, talk_outcome
from tests.phrasings.sentences import HALVES, STYLES, Half, Phrasing, near_misses, phrasings

SOURCES: tuple[Source, ...] = ("keyboard", "voice")


@dataclass(frozen=True)
class Result:
    """A sentence, and what came of it."""

    phrasing: Phrasing
    outcome: str
    said: Said

    @property
    def line(self) -> str:
        """For a person who looks for the reason."""
        replies = " / ".join(reply.text for turn in self.said.turns for reply in turn.replies)
        command = self.said.turns[0].command
        one = self.phrasing
        return f"{self.outcome:10} {one.context:14} {one.text}   [{replies}] {command or ''}"


@cache
def outcomes(half: Half, source: Source) -> Sequence[Result]:
    """What came of each phrasing of a half."""
    return [_result(one, source) for one in phrasings(half)]


@cache
def talk_outcomes(half: Half, source: Source) -> Sequence[Result]:
    """What came of each line of talk of a half."""
    return [_result(one, source) for one in near_misses(half)]


def _result(one: Phrasing, source: Source) -> Result:
    said = Said(one.context)
    if one.expected is None:
        return Result(one, talk_outcome(said, one.text, source), said)
    return Result(one, judge(said, one.text, one.expected, source), said)


def count(results: Iterable[Result], *wanted: str) -> int:
    """How many came out as wanted."""
    return sum(result.outcome in wanted for result in results)


def table(results: Sequence[Result], names: Sequence[str], heads: Sequence[str], key: str) -> str:
    """A line for each intent, style or group: how many came out how."""
    rows = [f"{key:14}{'n':>5}" + "".join(f"{head:>12}" for head in heads)]
    for name in [*names, "all"]:
        mine = [one for one in results if name in ("all", getattr(one.phrasing, key))]
        found = Counter(one.outcome for one in mine)
        rows.append(f"{name:14}{len(mine):5}" + "".join(f"{found[head]:12}" for head in heads))
    return "\n".join(rows)


def report(half: Half, source: Source) -> str:
    """Tables of a half."""
    said, talked = outcomes(half, source), talk_outcomes(half, source)
    intents = list(dict.fromkeys(one.phrasing.intent for one in said))
    groups = list(dict.fromkeys(one.phrasing.intent for one in talked))
    return "\n\n".join(
        [
            f"{half}, {source}",
            table(said, intents, OUTCOMES, "intent"),
            table(said, STYLES, OUTCOMES, "style"),
            table(talked, groups, TALK_OUTCOMES, "intent"),
        ]
    )


def may_show(half: Half) -> bool:
    """Whether sentences of this half may be printed."""
    return half == "tuning" or os.environ.get("CRUMBCALL_SHOW_HELD_BACK") == "1"


def faults(results: Iterable[Result], *fine: str) -> list[str]:
    """Lines of what came out in another way."""
    return [result.line for result in results if result.outcome not in fine]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.phrasings.run", description=__doc__)
    parser.add_argument("half", nargs="?", choices=HALVES, help="both where none is named")
    parser.add_argument("--show", action="store_true", help="print what was not understood")
    parser.add_argument("--source", choices=SOURCES, default="keyboard")
    given = parser.parse_args()
    for half in HALVES if given.half is None else (given.half,):
        print(report(half, given.source), "\n")
        if given.show and may_show(half):
            print(*faults(outcomes(half, given.source), "understood"), sep="\n")
            print(*faults(talk_outcomes(half, given.source), "left"), sep="\n")


if __name__ == "__main__":
    main()
