"""The day of `test_shift` by a cook who never read the phrase table: other words, the same record."""

from pathlib import Path

from assistant.batch.record import events as ev
from assistant.config.home import Home
from assistant.journal.reader import JournalReader
from tests.cli.conftest import Run
from tests.cli.test_shift import AFTER, MORNING, TYPE

OTHER_WORDS: dict[str, list[str]] = {
    "opening check": ["let's do the opening check"],
    "done": ["that's done", "yes done", "done that", "all done"],
    "skip": ["skip it", "skip that one"],
    "leave it": ["stop there"],
    "lot four seven one": ["we're on lot four seventy one"],
    "new batch fifteen hundred": ["right start a new batch of one and a half kilos"],
    "timer sauce forty minutes": ["set the sauce timer for forty minutes please"],
    "water three thirty": ["that's three thirty in"],
    "mix": ["start the mix", "okay mix it", "mix it now please", "start mixing"],
    "got it": ["heard you", "okay stop that", "i'm on it", "be quiet", "stop the noise", "yeah got that"],
    "crumb dry": ["it's still too dry", "bit dry", "the crumb's still dry"],
    "poured the rest": [
        "that's all of it in",
        "the rest is in",
        "all the water's in",
        "i've poured the rest",
    ],
    "crumb ready": ["crumb's good", "it's ready", "the crumb is perfect", "feels right"],
    "rest twelve minutes": ["let it rest for twelve minutes"],
    "timer oven six minutes": ["oven timer for six minutes"],
    "timer three ten minutes": ["can you set timer three for ten minutes"],
    "new die rigatoni": ["in with the rigatoni", "rigatoni die's in"],
    "new die tagliatelle": ["i've put the tagliatelle die in"],
    "extruding": ["start extruding", "we're extruding now", "extruding it now", "okay i'm extruding"],
    "scrap forty": ["forty of scrap"],
    "die warm": ["the die's warm", "die is warm now", "okay the die's warm"],
    "tray done": ["that's a tray done", "tray's full", "another tray done", "tray in the fridge"],
    "portions ten": ["that's ten portions"],
    "how much dough left": ["how much dough have we got left"],
    "close batch": ["that's the batch done", "close it", "batch is finished", "close the batch please"],
    "new batch two thousand": ["next batch two kilos"],
    "water four forty five": ["poured four forty five"],
    "water twenty": ["another twenty in"],
    "rest ninety seconds": ["let it rest a minute and a half"],
    "cook rigatoni": ["cooking the rigatoni now"],
    "die change": ["time for the die change"],
    "recipe egg": ["use the egg recipe"],
    "new batch one thousand": ["start a batch of one kilo"],
    "new batch five hundred": ["new batch half a kilo please"],
    "yes": ["it is"],
    "tray two cold": ["tray two is cold now"],
    "stop sauce timer": ["stop the sauce timer"],
    "clean down": ["let's do the clean down", "clean down please"],
}
"""Sentence of `test_shift` -> what is said instead, in turn."""


def in_other_words(lines: list[str]) -> list[str]:
    said: dict[str, int] = {}
    found: list[str] = []
    for line in lines:
        if line.startswith("+"):
            found.append(line)
            continue
        ways = OTHER_WORDS[line]
        found.append(ways[said.get(line, 0) % len(ways)])
        said[line] = said.get(line, 0) + 1
    return found


def record(home: Path) -> list[ev.Event]:
    with JournalReader.open(Home.find(home).journal_file) as journal:
        return [event for _, event in journal.read()]


def test_a_day_in_other_words_leaves_the_same_record(run: Run, tmp_path: Path) -> None:
    for lines in (MORNING, AFTER):
        ran = run(*TYPE, lines=in_other_words(lines))
        assert (ran.status, ran.err) == (0, "")
        *turns, _state = ran.objects
        assert [turn["said"] for turn in turns if turn["said"] and turn["command"] is None] == []
    spoken = record(tmp_path / "home")
    (tmp_path / "home").rename(tmp_path / "other")
    for lines in (MORNING, AFTER):
        run(*TYPE, lines=lines)
    assert spoken == record(tmp_path / "home")
