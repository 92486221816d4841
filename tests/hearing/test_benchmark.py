"""The benchmark's own parts: a table is worth what its counting, mixing and splitting are."""

import itertools
from dataclasses import replace
from functools import reduce
from pathlib import Path

import numpy as np
import pytest

from assistant.app.application import Application, open_application
from assistant.batch.decide.decide import Said, decide
from assistant.batch.record.commands import AddWater, Ask, Command, NewBatch
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.state import State
from assistant.config.home import Home
from assistant.dough.amounts import Amount
from assistant.ports import Asking, Recognition
from tests.bench.hearing.cooks import moments, number_words
from tests.bench.hearing.hearing import Case, Result, as_heard, outcome, quantile
from tests.bench.hearing.intervals import Share
from tests.bench.hearing.sentences import TWINS, kitchen_talk, part_of, walks
from tests.bench.hearing.sounds import active_power, in_room, mixed, noises, rooms
from tests.bench.hearing.voices import VOICES, trimmed
from tests.station.stand import understood

RATE = 16_000


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Application:
    return open_application(Home.find(tmp_path_factory.mktemp("home")))


def test_wilson_interval_is_the_published_one() -> None:
    # Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3 (figures from memory).
    for hits, n, low, high in ((81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611)):
        assert Share(hits, n).interval == pytest.approx((low, high), abs=5e-5)


def test_nothing_measured_is_nothing_known() -> None:
    assert Share(0, 0).interval == (0.0, 1.0)


def test_parts_share_no_voice_noise_or_sentence(app: Application) -> None:
    assert not {v.name for v in VOICES["tune"]} & {v.name for v in VOICES["test"]}
    assert not {n.name for n in noises("tune", None)} & {n.name for n in noises("test", None)}
    said = {
        part: {text for text, _ in itertools.islice(walks(app.grammar, part, 1), 60)}
        for part in ("tune", "test")
    }
    said["tune"] |= set(kitchen_talk(app.grammar, "tune", 60))
    said["test"] |= set(kitchen_talk(app.grammar, "test", 60))
    assert not said["tune"] & said["test"]


def test_walks_are_distinct_commands_full_of_twins(app: Application) -> None:
    found = list(itertools.islice(walks(app.grammar, "test", 1), 160))
    assert len({text for text, _ in found}) == 160
    assert all(app.grammar.parse(text) == command and part_of(text) == "test" for text, command in found)
    assert sum(any(word in TWINS for word in text.split()) for text, _ in found) > 20


def test_talk_is_distinct_and_means_nothing(app: Application) -> None:
    talk = kitchen_talk(app.grammar, "test", 300)
    assert len(set(talk)) == 300
    assert all(app.grammar.parse(text) is None for text in talk)


def test_cooks_say_what_is_meant_in_the_state_it_is_said_in(app: Application) -> None:
    told = list(itertools.islice(moments(app.grammar, "test", app.rules, app.recipes), 150))
    assert all(app.grammar.parse(m.text, asking=Asking.ANSWER) == m.command for m in told)
    assert any(m.odd for m in told)
    assert any(m.state.question is not None for m in told)
    assert any(m.state.batch is not None and m.state.batch.water_g > 0 for m in told)


def test_a_number_in_words_means_itself(app: Application) -> None:
    import random

    for value in (7, 13, 50, 99, 100, 105, 115, 150, 430, 999, 1000, 1250, 1500, 2005, 2250, 2500):
        for seed in range(6):
            text = f"water {number_words(value, random.Random(seed))}"
            assert app.grammar.parse(text) == AddWater(Amount(float(value))), text


def test_noise_stands_at_the_ratio_asked_for() -> None:
    tone = (8000 * np.sin(np.arange(RATE) * 0.2)).astype(np.int16)
    noise = noises("test", None)[0]
    clip = mixed(tone, noise, 10.0, seed=1).astype(float)
    around = np.concatenate([clip[:RATE], clip[-RATE:]])
    speech = active_power(clip[RATE : 2 * RATE]) - np.mean(around**2)
    assert 10 * np.log10(speech / np.mean(around**2)) == pytest.approx(10.0, abs=0.7)


def test_level_is_that_of_speech_not_of_its_pauses() -> None:
    tone = 1000 * np.sin(np.arange(RATE) * 0.2)
    assert active_power(np.concatenate([tone, np.zeros(2 * RATE)])) == pytest.approx(
        active_power(tone), rel=0.05
    )


def test_a_near_microphone_hears_the_room_six_decibels_down() -> None:
    for room in rooms("test", None):
        assert 10 * np.log10(np.sum(room[1:] ** 2)) == pytest.approx(-6.0, abs=0.01)
    pcm = np.array([100, 0, 0], np.int16)
    assert len(in_room(pcm, room)) == len(room) + 2


def test_quiet_ends_are_cut_off() -> None:
    sound = np.concatenate([np.zeros(800), 5000 * np.ones(1600), np.ones(800)]).astype(np.int16)
    assert len(trimmed(sound)) == 1600


def _result(command: Command | None, *found: Recognition[Command]) -> Result:
    case = Case("", command, np.zeros(0, np.int16), "", "", "")
    return Result(case, list(found), [None] * len(found))


SURE, THIN = 20.0, 0.3
WATER_15, WATER_50 = "water fifteen", "water fifty"


def _heard(text: str, margin: float, *, accepted: bool = True) -> Recognition[Command]:
    return understood(text, margin=margin, accepted=accepted)


@pytest.mark.parametrize(
    ("found", "kind"),
    [
        ([_heard(WATER_15, SURE)], "right"),
        ([_heard(WATER_15, THIN)], "asked"),
        ([_heard(WATER_50, SURE)], "wrong"),
        ([_heard(WATER_50, THIN)], "caught"),
        ([_heard("water", SURE)], "caught"),
        ([_heard(WATER_15, SURE, accepted=False)], "again"),
        ([], "again"),
        ([_heard(WATER_15, SURE), _heard("undo", SURE)], "wrong"),
    ],
)
def test_what_came_of_a_command(app: Application, found: list[Recognition[Command]], kind: str) -> None:
    assert outcome(app, _result(AddWater(Amount(15.0)), *found), as_heard) == kind


def test_what_fits_badly_and_is_near_leads_to_a_question(app: Application) -> None:
    near = understood(WATER_15, near=True)
    water = AddWater(Amount(15.0))
    opened = decide(State(), Said(NewBatch(Amount(1500.0))), 0.0, app.rules).events
    batch = reduce(evolve, opened, State())
    in_a_batch = [
        Result(replace(_result(command).case, state=batch), [near], [None])
        for command in (water, Ask("help"))
    ]
    assert [outcome(app, one, as_heard) for one in in_a_batch] == ["asked", "caught"]
    assert outcome(app, _result(water, near), as_heard) == "again"
    assert outcome(app, _result(None, near), as_heard) == "caught"
    assert outcome(app, _result(None, understood("help", near=True)), as_heard) == "again"


def test_talk_that_is_taken_for_a_question_is_acted_on(app: Application) -> None:
    heard = _heard("help", SURE)
    assert outcome(app, _result(None, heard), as_heard) == "wrong"
    assert outcome(app, _result(Ask("help"), heard), as_heard) == "right"


def test_quantile_of_few_values() -> None:
    assert quantile([3.0, 1.0, 2.0], 0.5) == 2.0
    assert quantile([1.0], 0.95) == 1.0


def test_the_table_in_the_repository_names_its_command() -> None:
    text = (Path(__file__).parents[1] / "bench" / "hearing" / "RESULTS.md").read_text(encoding="utf-8")
    assert "python -m tests.bench.hearing" in text
