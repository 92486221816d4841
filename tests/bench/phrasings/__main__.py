"""How cooks who never read the phrase table are heard: `python -m tests.bench.phrasings [--sample 60]`.

No sentence of the held-back half is ever printed.
"""

import argparse
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.batch.record.commands import Command
from assistant.ports import Recogniser
from assistant.station.loop import hear
from assistant.station.messages import Heard
from tests.bench.hearing.hearing import Case, listen
from tests.bench.hearing.intervals import Share
from tests.bench.hearing.real import MISSING, speech_folder
from tests.bench.hearing.report import table
from tests.bench.phrasings.clips import Clip, clips, engines, machines, missing, sampled
from tests.phrasings.contexts import application
from tests.phrasings.expectations import OUTCOMES, TALK_OUTCOMES, Said, outcome, outcome_of_talk
from tests.phrasings.sentences import HALVES, STYLES, Half, Phrasing, near_misses, phrasings

INTRODUCTION = """\
Made by `python -m tests.bench.phrasings`; nothing here is typed by hand. What is said: the lists in
`tests/phrasings`, as cooks would say it who never read the phrase table, and talk beside the machine. Each
sentence goes through the real endpointer, recogniser, grammar and station in a fresh moment of a batch. Typed
lines are left out. Voices: {engines}.
Noises at 10 dB: {noises}.

`understood`: what was meant came of it at once. `asked`: after yes to one question. `caught`: a question
about something else, or a value was asked for. `silent`: nothing was done. `otherwise`: something else was
done or answered. Of talk, `left`: left alone; `told`: answered, though nothing changed; `asked` about;
`acted` on. Shares in % with 95 % Wilson intervals.
"""


@dataclass(frozen=True)
class Listened:
    """A clip, and what came of it."""

    clip: Clip
    outcome: str
    heard: str
    cpu_s: float


Key = Callable[[Listened], str]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.phrasings", description=__doc__)
    parser.add_argument("half", nargs="?", choices=HALVES, help="both where none is named")
    parser.add_argument("--sample", type=int, help="at most so many sentences and lines of talk of a half")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--show", action="store_true", help="list also what was silent or asked about")
    parser.add_argument("--sounds", type=Path, help="folder that keeps what was spoken for the next run")
    parser.add_argument("--title", default="Phrasings, heard", help="first line of the tables")
    parser.add_argument("--out", type=Path, help="write the tables into this file too")
    given = parser.parse_args()
    halves = HALVES if given.half is None else (given.half,)
    text = run(halves, given.sample, given.seed, given.sounds, show=given.show)
    text = f"# {given.title}\n\n{text}"
    print(text)
    if given.out is not None:
        given.out.write_text(text, encoding="utf-8")


def run(
    halves: Sequence[Half], sample: int | None, seed: int, sounds: Path | None = None, *, show: bool = False
) -> str:
    """All tables of these halves."""
    speech = speech_folder()
    recogniser = application().recogniser()
    names = [f"{name} {len(voices)}" for name, voices in engines().items()]
    parts = [
        INTRODUCTION.format(
            engines=", ".join(names), noises=", ".join(noise.name for noise in machines(speech))
        ),
    ]
    parts += [f"Left out, for this machine lacks it: {engine}.\n" for engine in missing()]
    parts += [] if speech is not None else [f"{MISSING}; made noises take their place.\n"]
    for half in halves:
        said = sampled([one for one in phrasings(half) if one.style != "typed"], sample, seed)
        talk = sampled(near_misses(half), sample, seed)
        heard = [_listened(recogniser, clip) for clip in clips(said, speech, seed, sounds)]
        talked = [_listened(recogniser, clip) for clip in clips(talk, speech, seed, sounds)]
        parts += [f"## {half}: {len(said)} sentences\n", *_tables(heard, OUTCOMES, styles=True)]
        parts += [f"## {half}: {len(talk)} lines of talk\n", *_tables(talked, TALK_OUTCOMES)]
        if half == "tuning":
            fine = ("understood",) if show else ("understood", "asked", "caught", "silent")
            parts += ["What was done wrongly:\n", _lines(heard, *fine)]
            parts += ["Talk that was taken for a command:\n", _lines(talked, "left")]
        seconds = sum(len(one.clip.pcm) / 16_000 for one in heard + talked)
        cpu_s = sum(one.cpu_s for one in heard + talked)
        parts.append(f"CPU of listening: {cpu_s / seconds:.3f} s a second of sound.\n")
    return "\n".join(parts)


def _listened(recogniser: Recogniser[Command], clip: Clip) -> Listened:
    """Hear a clip block by block in a fresh moment, and let the station act on what was recognised."""
    app = application()
    said = Said(clip.phrasing.context)
    station = said.bench.station
    case = Case(clip.phrasing.text, None, clip.pcm, clip.voice, clip.noise, clip.snr, asking=station.asking)
    result = listen(app, recogniser, case)
    for found, ratio in zip(result.found, result.ratios, strict=True):
        turn = hear(station, Heard(found, snr_db=ratio), app.settings.recogniser.act_above)
        if turn is not None:
            said.took(turn)
    heard = "; ".join(turn.said or "" for turn in said.turns)
    return Listened(clip, _outcome(clip.phrasing, said), heard, result.cpu_s)


def _outcome(phrasing: Phrasing, said: Said) -> str:
    if phrasing.expected is None:
        return outcome_of_talk(said)
    return outcome(said, phrasing.expected, "voice")


def _tables(results: Sequence[Listened], outcomes: Sequence[str], *, styles: bool = False) -> list[str]:
    """By ratio, by engine and, of what cooks say, by style."""
    found = [
        _table(results, outcomes, "noise", lambda one: one.clip.snr),
        _table(results, outcomes, "engine", lambda one: one.clip.engine),
    ]
    if styles:
        order = {style: place for place, style in enumerate(STYLES)}
        ordered = sorted(results, key=lambda one: order[one.clip.phrasing.style])
        found.append(_table(ordered, outcomes, "style", lambda one: one.clip.phrasing.style))
    return found


def _table(results: Sequence[Listened], outcomes: Sequence[str], by: str, key: Key) -> str:
    groups: dict[str, Counter[str]] = {}
    for one in results:
        groups.setdefault(key(one), Counter())[one.outcome] += 1
    rows = [
        [name, found.total(), *(Share(found[kind], found.total()) for kind in outcomes)]
        for name, found in groups.items()
    ]
    return table([by, "n", *outcomes], rows)


def _lines(results: Sequence[Listened], *fine: str) -> str:
    seen = Counter(
        f"{one.outcome}, {one.clip.snr}, {one.clip.phrasing.context}: {one.clip.phrasing.text} -> {one.heard}"
        for one in results
        if one.outcome not in fine
    )
    return "".join(f"- {line} ({n})\n" for line, n in seen.items()) or "- none\n"


if __name__ == "__main__":
    main()
