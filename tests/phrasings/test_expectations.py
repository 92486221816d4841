"""The judge itself: plain sentences of the phrase table meet what the lists expect, and others do not."""

import pytest

from assistant.batch.decide.decide import Said as Request
from assistant.batch.record import commands as cmd
from tests.phrasings.contexts import CONTEXTS, prepared
from tests.phrasings.expectations import Expectation, Said, judge, met, talk_outcome
from tests.phrasings.sentences import HALVES, near_misses, phrasings

PLAIN: list[tuple[str, str, Expectation]] = [
    ("fresh", "water one fifty", {"water_g": 150}),
    ("pouring", "water 50", {"water_g": 380}),
    ("fresh", "water 0.3 l", {"water_g": 299.5}),
    ("pouring", "poured the rest", {"water_g": 465}),
    ("pouring", "flour added two hundred", {"flour_g": 1700}),
    ("idle", "new batch two thousand", {"flour_g": 2000}),
    ("fresh", "target thirty two", {"target_pct": 32}),
    ("fresh", "target thirty one point five", {"target_pct": 31.5}),
    ("idle", "lot four oh seven", {"lot": "407"}),
    ("idle", "recipe egg", {"recipe": "egg"}),
    ("fresh", "dough twenty eight degrees", {"conditions": {"dough": 28}}),
    ("just_poured", "make that one thirty", {"water_g": 130}),
    ("just_poured", "undo", {"water_g": 0}),
    ("squeezing", "crumb dry", {"crumb": "dry"}),
    ("squeezing", "crumb ready", {"crumb": "ready"}),
    ("squeezing", "crumb wet", {"crumb": "wet"}),
    ("extruding", "close batch", {"ended": "closed"}),
    ("pouring", "drop batch", {"ended": "dropped"}),
    ("pouring", "how much left", {"told": "left"}),
    ("pouring", "how much in", {"told": "in"}),
    ("pouring", "hydration", {"told": "hydration"}),
    ("pouring", "where are we", {"told": "where"}),
    ("pouring", "what next", {"told": "next"}),
    ("squeezing", "what next", {"told": "next"}),
    ("ready", "what next", {"told": "next"}),
    ("idle", "what next", {"told": "next"}),
    ("pouring", "help", {"told": "help"}),
    ("idle", "help", {"told": "help"}),
    ("mixing", "time left", {"told": "time"}),
    ("resting", "time left", {"told": "time"}),
    ("timers", "time left", {"told": "time"}),
    ("just_poured", "say again", {"told": "again"}),
    ("planned", "what's the plan", {"told": "plan"}),
    ("extruding", "how much dough left", {"told": "dough"}),
    ("pouring", "mix", {"timers": {"mix": 120}}),
    ("pouring", "mix ninety seconds", {"timers": {"mix": 90}}),
    ("squeezing", "rest", {"timers": {"rest": 90}}),
    ("squeezing", "rest ten minutes", {"timers": {"rest": 600}}),
    ("idle", "timer pasta six minutes", {"timers": {"pasta": 360}}),
    ("idle", "timer ten minutes", {"new_timer_s": 600}),
    ("mixing", "stop mix timer", {"timers": {"mix": None}}),
    ("resting", "stop rest timer", {"timers": {"rest": None}}),
    ("timers", "stop sauce timer", {"timers": {"sauce": None}}),
    ("timers", "stop timer", {"asks": "stop_timer"}),
    ("one_timer", "stop timer", {"timers": {"pasta": None}}),
    ("mixing", "add two minutes", {"timers": {"mix": 240}}),
    ("one_timer", "add a minute", {"timers": {"pasta": 360}}),
    ("timers", "add five minutes to sauce", {"timers": {"sauce": 840}}),
    ("resting", "add five minutes", {"timers": {"rest": 840}}),
    ("ringing", "got it", {"timers": {"sauce": None}}),
    ("mix_rings", "got it", {"timers": {"mix": None}}),
    ("pouring", "mixer on", {"name": "mixer", "on": True}),
    ("mixing", "mixer off", {"name": "mixer", "on": False}),
    ("ready", "extruding", {"phase": "extruding"}),
    ("ready", "new die rigatoni", {"die": "rigatoni"}),
    ("extruding", "new die spaghetti", {"die": "spaghetti"}),
    ("trimming", "die warm", {"die_warm": True}),
    ("extruding", "scrap forty", {"scrap_g": 40}),
    ("extruding", "tray done", {"trays": 1}),
    ("tray", "tray done", {"trays": 2}),
    ("tray", "tray one cold", {"tray_cold": 1}),
    ("extruding", "portions twelve", {"portions": 12}),
    ("extruding", "cook rigatoni", {"cooking": "rigatoni"}),
    ("extruding", "cutter speed forty", {"cutter": 40}),
    ("idle", "louder", {"loudness": 1}),
    ("idle", "slower", {"pace": -1}),
    ("idle", "stop listening", {"listening": False}),
    ("deaf", "start listening", {"listening": True}),
    ("idle", "clean down", {"walk": "clean down"}),
    ("walking", "done", {"walk_step": 2}),
    ("walking_on", "back", {"walk_step": 1}),
    ("walking_on", "skip", {"walk_step": 3}),
    ("walking_on", "leave it", {"walk": None}),
    ("idle", "new batch", {"asks": "new_batch"}),
    ("idle", "timer three", {"asks": "timer"}),
    ("high_question", "yes", {"water_g": 530}),
    ("high_question", "no", {"settled": False}),
    ("close_question", "yes", {"ended": "closed"}),
    ("twin_question", "yes", {"water_g": 15}),
]


@pytest.mark.parametrize(("context", "text", "expected"), PLAIN)
def test_plain_sentences_meet_what_is_expected(context: str, text: str, expected: Expectation) -> None:
    assert judge(Said(context), text, expected, "keyboard") in ("understood", "asked")


@pytest.mark.parametrize(
    ("context", "text", "expected", "outcome"),
    [
        ("pouring", "water 60", {"water_g": 380}, "otherwise"),
        ("pouring", "the basil wants water", {"water_g": 380}, "silent"),
        ("pouring", "scrap 50", {"water_g": 380}, "otherwise"),
        ("pouring", "water 200", {"water_g": 530}, "asked"),
        ("pouring", "water 200", {"water_g": 380}, "caught"),
        ("pouring", "mix five", {"timers": {"mix": 300}}, "caught"),
        ("pouring", "how much in", {"told": "left"}, "otherwise"),
        ("timers", "stop sauce timer", {"timers": {"3": None}}, "otherwise"),
        ("timers", "timer pasta two minutes", {"timers": {"3": 240}}, "otherwise"),
        ("idle", "timer five minutes", {"new_timer_s": 600}, "otherwise"),
        ("extruding", "drop batch", {"ended": "closed"}, "otherwise"),
        ("extruding", "close batch", {"portions": 12, "ended": "closed"}, "otherwise"),
        ("high_question", "no", {"water_g": 530}, "otherwise"),
        ("idle", "new batch two thousand", {"flour_g": 2000, "lot": "12"}, "otherwise"),
        ("tray", "tray one cold", {"trays": 2}, "otherwise"),
    ],
)
def test_the_judge_tells_them_apart(context: str, text: str, expected: Expectation, outcome: str) -> None:
    assert judge(Said(context), text, expected, "keyboard") == outcome


def test_two_things_in_one_breath_are_one_outcome() -> None:
    said = Said("extruding")
    for command in (cmd.Portions(12), cmd.CloseBatch()):
        said.took(said.bench.station._turn(Request(command, "keyboard"), None, command))
    assert met(said, {"portions": 12, "ended": "closed"})
    assert not met(said, {"ended": "closed"})


@pytest.mark.parametrize(
    ("context", "text", "outcome"),
    [
        ("pouring", "water the plants", "left"),
        ("pouring", "how much left", "told"),
        ("pouring", "mix five", "asked"),
        ("pouring", "water 200", "asked"),
        ("pouring", "water 20", "acted"),
        ("idle", "yes", "left"),
    ],
)
def test_talk_is_told_from_what_is_acted_on(context: str, text: str, outcome: str) -> None:
    assert talk_outcome(Said(context), text, "keyboard") == outcome


def test_every_moment_is_reached_and_used() -> None:
    used = {one.context for half in HALVES for one in (*phrasings(half), *near_misses(half))}
    assert used == set(CONTEXTS)
    for name, steps in CONTEXTS.items():
        assert not steps or prepared(name).events or name.startswith("asked"), name


def test_the_lists_are_large_and_their_halves_share_no_sentence() -> None:
    said = [{(one.context, one.text) for one in phrasings(half)} for half in HALVES]
    talk = [{(one.context, one.text) for one in near_misses(half)} for half in HALVES]
    for lists, half, whole in ((said, 200, 480), (talk, 150, 320)):
        assert min(map(len, lists)) >= half
        assert sum(map(len, lists)) >= whole
        assert lists[0].isdisjoint(lists[1])
