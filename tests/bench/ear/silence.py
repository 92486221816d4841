"""What is no command, by real people, while nothing is asked: how often an hour it is acted on."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.bench.ear.beside import TWO, among, label, machines
from tests.bench.ear.ears import Ear
from tests.bench.ear.figures import Figures, Rate, grouped, share
from tests.bench.ear.people import PARTS, Split, Spoken
from tests.bench.hearing.hearing import Case, as_meant, listen, outcome
from tests.bench.hearing.report import table
from tests.bench.hearing.sounds import BEFORE_S


@dataclass(frozen=True)
class Overheard:
    """A recording as one ear hears it in a kitchen where nothing was asked."""

    ear: str
    snr: str
    seconds: float
    said: str
    heard: str
    command: bool
    """Whether what is said is a command as it stands."""
    outcome: str

    @property
    def acted(self) -> bool:
        """Whether something was done that nobody said."""
        return self.outcome == "wrong"

    @property
    def asked(self) -> bool:
        """Whether a question was asked about what nobody said."""
        return self.outcome == "caught"


def overheard(ears: Sequence[Ear], said: Sequence[Spoken], speech: Path, split: Split) -> Iterator[Overheard]:
    """Every recording in quiet and noise by every ear, through endpointer, recogniser and grammar."""
    around = machines(PARTS[split], speech)
    for seed, one in enumerate(said):
        pcm = one.pcm()
        for snr in TWO:
            clip = among(pcm, snr, around, seed)
            for ear in ears:
                command = ear.application.grammar.parse(one.text)
                end_s = BEFORE_S + one.seconds
                case = Case(one.text, command, clip, one.speaker, "", label(snr), end_s=end_s)
                result = listen(ear.application, ear.recogniser, case)
                texts = (found.text for found in result.found if found.accepted or found.near)
                became = outcome(ear.application, result, as_meant)
                heard = "; ".join(texts)
                yield Overheard(
                    ear.name, label(snr), one.seconds, one.text, heard, command is not None, became
                )


def silence_table(results: Sequence[Overheard], figures: Figures, name: str) -> str:
    """Acted on and asked about an hour by ear and noise; what is a command as it stands counts apart."""
    rows = []
    for (ear, snr, _), everything in grouped(results, lambda one: (one.ear, one.snr), lambda _: ""):
        some = [one for one in everything if not one.command]
        commands = [one for one in everything if one.command]
        hours = sum(one.seconds for one in some) / 3600
        acted = Rate(sum(one.acted for one in some), hours)
        asked = Rate(sum(one.asked for one in some), hours)
        right = share(commands, lambda one: one.outcome in ("right", "asked"))
        rows.append([ear, snr, len(some), f"{hours:.2f}", acted.count, acted, asked, len(commands), right])
        figures[ear, f"{name} {snr}"] = acted
    head = ["ear", "noise", "n", "hours", "acted on", "acted on an hour", "asked about an hour"]
    return table([*head, "commands said", "of those right %"], rows)


def taken(results: Sequence[Overheard], most: int = 40) -> str:
    """What was acted on, a line each."""
    lines = [f"{one.ear}, {one.snr}: {one.said[:60]} -> {one.heard}" for one in results]
    acted = [line for line, one in zip(lines, results, strict=True) if one.acted and not one.command]
    return "".join(f"- {line}\n" for line in sorted(dict.fromkeys(acted))[:most]) or "- none\n"
