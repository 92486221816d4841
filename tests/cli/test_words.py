"""`crumbcall words`: add, list, test and remove, as a cook calls it."""

# ruff: noqa: RUF001 - the letters of the IPA, and Cyrillic ones

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from assistant.app.words.new_sentences import Sample
from assistant.app.words.trial import COOKS, Trial, tried
from assistant.batch.record.commands import Command, Mix, Rest, Undo
from assistant.cli.words.report import heard
from assistant.config.home import Home
from assistant.config.language.talk import read_talk
from assistant.config.resources import grammar_folder
from assistant.errors import VoiceError
from assistant.nlu import load_grammar
from assistant.ports import NOTHING_HEARD, Asking, Hypothesis, Recognition, Sound, Wanted, always
from tests.cli.conftest import Run

LEFT_OUT = "Some of your own words are left out. Check the words file."


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "home" / "words.toml"


def test_a_phrase_is_tested_written_listed_used_and_removed(run: Run, file: Path) -> None:
    added = run("words", "add", "--quick", "Slosh in {amount}", "water {amount}")
    assert added.status == 0, added.err
    lines = added.out.splitlines()
    assert lines[0] == '"slosh in one fifty" means water 150 g.'
    assert lines[2].startswith('Sounds most like "')
    assert lines[3].startswith('In talk most like "')
    assert lines[-1] == f"Written to {file}. It counts from the next start of the station."
    assert file.read_text(encoding="utf-8").endswith('[phrases]\n"slosh in {amount}" = "water {amount}"\n')
    assert run("words").out == "slosh in {amount}  water {amount}\n"
    assert run("words", "list").out == run("words").out
    spoken = run("type", "--clock", "scripted", "--json", lines=["new batch 1500", "slosh in one fifty"])
    assert spoken.objects[1]["command"] == {"name": "water", "value": 150, "unit": "g", "grams": 150}
    removed = run("words", "remove", "slosh in {amount}")
    assert (
        removed.out
        == f'"slosh in {{amount}}" is out of {file}. It counts from the next start of the station.\n'
    )
    assert "None yet." in run("words").out
    assert run("parse", "slosh in one fifty").out.startswith("slosh in one fifty: no command")


def test_a_name_for_a_lot(run: Run) -> None:
    assert run("words", "add", "--quick", "--name", "the red bag", "lot R12").status == 0
    assert run("parse", "lot red bag").out == "lot red bag: lot (lot R12)\n"
    ran = run("type", "--clock", "scripted", "--json", lines=["lot the red bag"])
    assert ran.objects[0]["replies"][0]["text"] == "Lot R, one two."


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (("add", "poured {amount}", "water {amount}"), "is already understood: water"),
        (
            ("add", "crumb dry", "undo"),
            '"crumb dry" already means crumb dry, and would mean undo. Use other words.',
        ),
        (("add", "splosh {amont}", "water {amount}"), "there is no slot {amont}; did you mean amount?"),
        (("test", "splosh"), "The meaning is missing"),
        (("remove", "splosh"), 'there is no "splosh"; none is there.'),
        (("add", "splosh", "water", "--sounds", "s q"), 'has the phone "q", allowed are'),
        (
            ("add", "splosh wibble", "water", "--sounds", "s p"),
            "its new words are splosh, wibble; write WORD=PHONES.",
        ),
        (("add", "соус", "water"), 'how "соус" sounds can\'t be guessed; write it into [sounds].'),
    ],
)
def test_bad_input_is_one_clear_line_and_nothing_is_written(
    run: Run, file: Path, arguments: tuple[str, ...], line: str
) -> None:
    options = ("--quick",) if arguments[0] != "remove" else ()
    ran = run("words", *arguments, *options)
    assert ran.status == 2
    assert line in ran.err
    assert len(ran.err.splitlines()) == 1
    assert not file.exists()


def test_sounds_are_written_beside_their_word(run: Run, file: Path) -> None:
    assert run("words", "add", "--quick", "splosh", "water", "--sounds", "s p l ɑ ʃ").status == 0
    assert '[sounds]\nsplosh = ["s p l ɑ ʃ"]\n' in file.read_text(encoding="utf-8")


def test_a_broken_file_never_stops_the_station_and_is_told_once(run: Run, file: Path) -> None:
    file.parent.mkdir()
    file.write_text('[phrases]\n"in she goes" = "undo"\n"splosh" = "sing"\n', encoding="utf-8")
    ran = run("type", "--clock", "scripted", "--json", lines=["new batch 1500", "in she goes", "splosh"])
    assert ran.status == 0
    keys = [reply["key"] for turn in ran.objects for reply in turn["replies"]]
    assert keys.count("words_left_out") == 1
    assert ran.objects[2]["command"] == {"name": "undo"}
    file.write_text("[phrases\n", encoding="utf-8")
    ran = run("type", "--clock", "scripted", "--json", lines=["undo"])
    assert (ran.status, ran.objects[1]["command"]) == (0, {"name": "undo"})
    assert ran.objects[0]["replies"][-1]["text"] == LEFT_OUT


def test_a_kitchens_other_ways_to_say_things_add_up_or_are_left_out(run: Run, file: Path) -> None:
    ways = file.parent / "grammar" / "en" / "paraphrases.txt"
    ways.parent.mkdir(parents=True)
    ways.write_text("shove the monster along => extruding\n", encoding="utf-8")
    asked = run("type", "--clock", "scripted", "--json", lines=["new batch 1500", "shove the monster along"])
    assert [reply["text"] for reply in asked.objects[-1]["replies"]] == ["Do you mean extruding?"]
    ways.write_bytes(b"caff\xe8 => mix\n")
    ran = run("type", "--clock", "scripted", "--json", lines=["undo"])
    assert (ran.status, ran.objects[1]["command"]) == (0, {"name": "undo"})
    assert ran.objects[0]["replies"][-1]["text"] == LEFT_OUT
    assert "paraphrases.txt: it can't be read as UTF-8 text" in run("check").out
    ways.unlink()
    ways.with_name("talk.toml").write_text("sentences = [", encoding="utf-8")
    ran = run("type", "--clock", "scripted", "--json", lines=["undo"])
    assert (ran.status, ran.objects[1]["command"]) == (0, {"name": "undo"})


def test_check_and_the_list_say_what_is_left_out_and_where(run: Run, file: Path) -> None:
    file.parent.mkdir()
    file.write_text('[phrases]\n"splosh" = "watr {amount}"\n', encoding="utf-8")
    line = f'{file}, line 2: "splosh": "watr {{amount}}" is not understood; did you mean "water {{amount}}"?'
    assert f"absent  own words: {line} -> Mend the line" in run("check").out
    assert f"left out: {line}" in run("words").out
    assert f"left out: {line}" in run("words", "test", "--quick").out


def test_what_the_kitchens_files_name_can_be_said(run: Run, file: Path) -> None:
    home = file.parent
    (home / "recipes").mkdir(parents=True)
    (home / "grammar" / "en").mkdir(parents=True)
    (home / "settings.toml").write_text(
        '[cooking]\nown = "strozzapreti 330, angel hair 120"\n[timers]\nnames = "ragu"\n'
        '[station]\nlanguage = "it"\n',
        encoding="utf-8",
    )
    (home / "recipes" / "chestnut.toml").write_text(
        'name = "chestnut"\nallergens = ["wheat"]\nshapes = ["trofie"]\n[flour]\nsemolina = 100\n',
        encoding="utf-8",
    )
    (home / "grammar" / "en" / "walks.toml").write_text(
        '["night check"]\nsteps = [{ say = "Machine off and unplugged.", safety = true }]\n', encoding="utf-8"
    )
    said = {
        "cook strozzapreti": "cook (shape strozzapreti)",
        "cook angel hair": "cook (shape angel hair)",
        "new die trofie": "new_die (die trofie)",
        "recipe chestnut": "recipe (recipe chestnut)",
        "ragu timer ten minutes": "timer (timer ragu, seconds 600)",
        "night check": "walk (walk night check)",
    }
    for text, meaning in said.items():
        assert run("parse", text).out == f"{text}: {meaning}\n"
    ran = run("type", "--clock", "scripted", "--json", lines=["cook angel hair", "night check"])
    assert ran.objects[0]["replies"][0]["text"] != ""
    assert ran.objects[1]["replies"][0]["key"] == "walk_begun", "written in English alone, with Italian set"


# ---- the trial by ear


class Ear:
    """A recogniser that hears what it is told to: by the length of the sound."""

    name = "ear"

    def __init__(
        self, hears: Callable[[int], tuple[str, Command | None] | None], margin: float = 9.0
    ) -> None:
        self._hears = hears
        self._margin = margin

    def recognise(
        self,
        sound: Sound,
        *,
        asking: Asking = Asking.NOTHING,  # noqa: ARG002
        wanted: Wanted = always,  # noqa: ARG002
    ) -> Recognition[Command]:
        found = self._hears(len(sound.pcm))
        if found is None:
            return NOTHING_HEARD
        text, meaning = found
        return Recognition(
            Hypothesis(text, meaning, 0.1),
            accepted=True,
            margin=self._margin,
            sure=0.99 if self._margin > 4 else 0.7,
        )


LENGTH = {"splosh": 4000, "mix": 5000, "hold on": 6000}
AROUND = 9600
"""Samples of quiet around a sentence."""


def say(text: str, _voice: str, _rate: int) -> Sound:
    return Sound(np.full(LENGTH[text], 900, np.int16))


def trial(after: Ear, before: Ear) -> Trial:
    return tried(
        [Sample("splosh", Undo())],
        [Sample("mix", Mix())],
        ["hold on"],
        before=before,
        after=after,
        act_above=0.85,
        speak=say,
    )


def hears(found: dict[str, tuple[str, Command | None]]) -> Callable[[int], tuple[str, Command | None] | None]:
    by_length = {LENGTH[text] + AROUND: meant for text, meant in found.items()}
    return by_length.get


ALL_WELL: dict[str, tuple[str, Command | None]] = {"splosh": ("splosh", Undo()), "mix": ("mix", Mix())}


def test_a_word_that_costs_nothing() -> None:
    found = trial(Ear(hears(ALL_WELL)), Ear(hears({"mix": ("mix", Mix())})))
    assert (found.right, found.of, found.worse, found.taken) == (2 * len(COOKS), 2 * len(COOKS), (), ())
    assert [*heard(found)] == ["Heard 6 of 6; nothing else is heard worse."]


def test_a_word_that_is_asked_about_and_takes_from_others_and_from_talk() -> None:
    after: dict[str, tuple[str, Command | None]] = {
        **ALL_WELL,
        "mix": ("splosh", Undo()),
        "hold on": ("rest", Rest()),
    }
    found = trial(Ear(hears(after), margin=1.0), Ear(hears({"mix": ("mix", Mix())})))
    assert [*heard(found)] == [
        'Heard 6 of 6, 6 of them asked about; heard worse: "mix" 0 of 6, before 6.',
        'Talk is taken for a command: "hold on" was taken 3 of 3 times, as "rest".',
    ]
    assert found.gain == 6 - 6 - 3


def test_it_is_said_what_a_new_word_is_mistaken_for() -> None:
    found = trial(Ear(hears({"splosh": ("mix", Mix())})), Ear(hears({})))
    assert [*heard(found)][1] == 'Mistaken for "mix" 6 of 6.'


def test_talk_that_is_listened_for_is_not_taken_for_a_command() -> None:
    found = trial(Ear(hears({**ALL_WELL, "hold on": ("hold on", None)})), Ear(hears(ALL_WELL)))
    assert found.taken == ()


def test_what_was_heard_badly_before_is_not_worse() -> None:
    found = trial(Ear(hears({})), Ear(hears({})))
    assert [*heard(found)] == [
        "Heard 0 of 6; nothing else is heard worse.",
        "That is badly heard: take other words, or say with --sounds how it sounds.",
    ]


def test_a_phrase_is_tried_by_ear_with_the_built_in_voice(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assistant.app.words.trial.COOKS", COOKS[:1])
    ran = run("words", "test", "chuck it all in", "poured the rest")
    assert ran.status == 0, ran.err
    assert "Heard 2 of 2" in ran.out
    assert "nothing else is heard worse" in ran.out


def test_without_a_voice_the_rest_of_the_test_counts(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def mute(_text: str, _voice: str, _rate: int) -> Sound:
        raise VoiceError("there is no espeak-ng")

    monkeypatch.setattr("assistant.cli.words.command.built_in_voice", mute)
    ran = run("words", "test", "that's her in", "poured the rest")
    assert ran.status == 0
    assert ran.out.endswith("Not tried by ear: there is no espeak-ng.\n")


def test_common_talk_is_no_command_and_has_a_sound_for_every_word() -> None:
    talk = read_talk(grammar_folder() / "talk.toml")
    file = Home.find(Path("nowhere")).language_file("pronunciations.toml")
    from assistant.config.language.pronunciations import read_pronunciations

    known = {*read_pronunciations(file).words, *talk.words}
    assert {word for text in talk.sentences for word in text.split()} <= known
    assert len(talk.sentences) == len(set(talk.sentences)) >= 150
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    assert len([text for text in talk.sentences if grammar.parse(text) is not None]) <= 25
