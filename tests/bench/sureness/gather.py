"""What the recogniser makes of many sounds of which it is known what was said: the rows to fit and check
with.

Kinds: `command` and `batch` (sentences of the grammar and of simulated cooks, synthetic voices in noise),
`phrasing` (how cooks say it, and near misses), `talk` (kitchen talk by synthetic voices), `real talk` (people
who say no command), `real` (people's sentences in a grammar of such sentences; every fourth is not in it).
"""

import csv
import itertools
import json
import random
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from assistant.app.application import Application
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.audio.files import read_sound
from assistant.batch.record.commands import Command
from assistant.batch.record.state import State
from assistant.hearing.level import own_snr_db
from assistant.nlu.likelihood import surprise
from assistant.ports import Asking, Evidence, Pcm, Recognition, Sound
from assistant.testing.audio import own_words, sentence_graph
from tests.bench.ear.people import general_folder
from tests.bench.hearing.cooks import moments
from tests.bench.hearing.corpora import Maker, Size
from tests.bench.hearing.hearing import Case, listen
from tests.bench.hearing.real import speech_folder
from tests.bench.hearing.sentences import Part
from tests.bench.hearing.sounds import mixed, noises
from tests.bench.hearing.voices import available
from tests.phrasings.sentences import near_misses, phrasings

SNRS: tuple[int | None, ...] = (None, 20, 10, 5, 0)
SIZE = Size(walks=8, cooks=8, talk=84, snrs=SNRS, talk_snrs=(None, 10), real=0, rivals=0)
CHECKED = Size(walks=6, cooks=6, talk=84, snrs=SNRS, talk_snrs=(None, 10), real=0, rivals=0)
TALK = ("talk", "real talk")
PADDING: Pcm = np.zeros(16_000, np.int16)


@dataclass(frozen=True, slots=True)
class Row:
    """One utterance as it was heard."""

    kind: str
    voice: str
    snr: str
    said: str
    heard: str
    right: bool
    """Whether what was heard means what was said, and that was for the station."""
    has_meaning: bool
    evidence: Evidence
    snr_db: float | None
    surprise: float | None
    """How unexpected it was at that moment of a batch (0 to 1); None where there was no batch."""


def people_folder() -> Path | None:
    """Folder of general real speech, or None; without it the people are missing."""
    speech = speech_folder()
    return None if speech is None else general_folder(speech)


def rows(application: Application, part: Part, size: Size = SIZE) -> Iterator[Row]:
    """Every utterance of a part."""
    recogniser = application.recogniser()
    assert isinstance(recogniser, PhonemeRecogniser)
    maker = Maker(application, part, speech_folder(), size)
    states = _moments(application)
    for kind, cases in (
        ("command", maker.commands()),
        ("batch", maker.cooks()),
        ("phrasing", _phrasings(application, maker)),
        ("talk", maker.talk()),
        ("real talk", _real_talk(application, part)),
    ):
        for number, case in enumerate(cases):
            found = listen(application, recogniser, case).found
            yield from _heard(application, kind, case, found, states if kind in TALK else None, number)
    yield from _real_sentences(recogniser, part)


def _heard(
    application: Application,
    kind: str,
    case: Case,
    found: list[Recognition[Command]],
    states: Sequence[State] | None,
    number: int,
) -> Iterator[Row]:
    """A row of each utterance; talk falls into one of the states, always the same for one clip."""
    state = case.state if states is None else states[number % len(states)]
    for one in found:
        if one.evidence is not None:
            right = one.meaning is not None and one.meaning == case.command
            odd = None if state is None else surprise(state, one.meaning, application.rules)
            yield _row(kind, case, one, right, odd)


def _moments(application: Application) -> list[State]:
    """States of simulated batches."""
    said = moments(application.grammar, "tune", application.rules, application.recipes)
    return [moment.state for moment in itertools.islice(said, 0, 600, 3)]


def _row(
    kind: str,
    case: Case,
    one: Recognition[Command] | Recognition[str],
    right: bool,
    odd: float | None = None,
) -> Row:
    assert one.evidence is not None
    return Row(
        kind,
        case.voice,
        case.snr,
        case.text,
        one.text,
        right,
        one.meaning is not None,
        one.evidence,
        own_snr_db(case.pcm),
        odd,
    )


def _phrasings(application: Application, maker: Maker) -> Iterator[Case]:
    # What the grammar does not parse is left out: its meaning may be heard right all the same.
    known = (one for one in phrasings("tuning") if application.grammar.parse(one.text) is not None)
    said = list(dict.fromkeys(one.text for one in [*known, *near_misses("tuning")]))
    cases = [
        Case(text, application.grammar.parse(text), PADDING, "", "", "")
        for text in random.Random("sureness").sample(said, min(len(said), 280))
        if text.replace(" ", "").replace("'", "").isalpha()
    ]
    yield from maker.spread(available(maker.part), cases, (None, 10))


def _real_talk(application: Application, part: Part) -> Iterator[Case]:
    """People who say no command: of the one part `train` and `dev` of the general speech, of the other
    `test`."""
    folder = people_folder()
    if folder is None:
        return
    splits = ("dev",) if part == "tune" else ("test",)
    around = noises(part, speech_folder())
    for number, row in enumerate(_manifest(folder, splits, 500)):
        pcm = read_sound(folder / row["file"]).pcm[: 16_000 * 8]
        noise = around[number % len(around)]
        snr = (None, 10)[number % 2]
        clip = mixed(pcm, noise if snr else None, snr or 99.0, number)
        yield Case(
            row["transcript"],
            application.grammar.parse(_plain(row["transcript"])),
            clip,
            row["speaker"],
            noise.name,
            "clean" if snr is None else f"{snr} dB",
        )


def _manifest(folder: Path, splits: tuple[str, ...], most: int) -> list[dict[str, str]]:
    with (folder / "manifest.csv").open(encoding="utf-8") as file:
        found = [row for row in csv.DictReader(file) if row["split"] in splits and row["transcript"].strip()]
    return random.Random("manifest").sample(found, min(most, len(found)))


def _real_sentences(like: PhonemeRecogniser[Command], part: Part) -> Iterator[Row]:
    folder = people_folder()
    if folder is None:
        return
    splits = ("dev",) if part == "tune" else ("test",)
    wanted = [row for row in _manifest(folder, splits, 100_000) if row["kind"] == "sentence"]
    texts = {row["file"]: _plain(row["transcript"]) for row in wanted}
    present = sorted({text for place, text in enumerate(dict.fromkeys(texts.values())) if place % 4})
    graph = sentence_graph(present)
    recogniser = PhonemeRecogniser(
        like.experts, lambda _: graph, meaning=own_words, confidence=like.confidence
    )
    around = noises(part, speech_folder())
    for number, row in enumerate(wanted):
        pcm = read_sound(folder / row["file"]).pcm[: 16_000 * 10]
        noise = around[number % len(around)]
        for snr in (None, 10, 5)[:: 1 if number % 2 else 2]:
            clip = mixed(pcm, noise if snr else None, snr or 99.0, number)
            found = recogniser.recognise(Sound(clip), asking=Asking.NOTHING)
            if found.evidence is not None:
                case = Case(
                    texts[row["file"]],
                    None,
                    clip,
                    row["speaker"],
                    noise.name,
                    f"{snr} dB" if snr else "clean",
                )
                yield _row("real", case, found, found.text == case.text)


def _plain(text: str) -> str:
    return " ".join("".join(sign for sign in text.lower() if sign.isalpha() or sign in " '").split())


def save(found: Iterator[Row], file: Path) -> None:
    """Write rows, one a line."""
    with file.open("w", encoding="utf-8") as out:
        for row in found:
            out.write(json.dumps(asdict(row)) + "\n")


def load(file: Path) -> list[Row]:
    """Read what `save` wrote."""
    with file.open(encoding="utf-8") as lines:
        return [_read(json.loads(line)) for line in lines]


def _read(values: dict[str, object]) -> Row:
    evidence = values.pop("evidence")
    assert isinstance(evidence, dict)
    made = Evidence(
        costs=tuple(evidence["costs"]),
        leads=tuple(evidence["leads"]),
        phones=evidence["phones"],
    )
    return Row(evidence=made, **values)  # type: ignore[arg-type]
