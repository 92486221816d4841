"""Every language that ships says all there is to say: short, in its own words, as careful as English."""

import re
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from assistant.batch.record.announcements import SAYABLE, Value, say
from assistant.config.home import Home
from assistant.config.language.walk_throughs import load_walks
from assistant.config.pantry import Pantry
from assistant.config.recipes import SHIPPED as SHIPPED_RECIPES
from assistant.config.recipes import Recipes
from assistant.config.resources import ENGLISH, grammar_folder, languages
from assistant.nlg.names import FILE as NAMES_FILE
from assistant.nlg.names import read_names
from assistant.nlg.render import TEXT_VALUES
from assistant.nlg.replies import Replies
from assistant.nlu import Grammar, load_grammar
from assistant.ports import Asking
from tests.nlg.off_first import ELSEWHERE, HAND_IN, OFF, hand_before_off, replies_of

SAMPLE_NUMBERS = (0.0, 1.0, 2.0, 21.0, 31.5, 40.0, 90.0, 1500.0, 7200.0)
SAMPLE_NAMES = {
    "timer": ("mix", "rest", "2", "sauce"),
    "other": ("2", "mix", "rest", "sauce"),
    "walk": ("opening check",),
    "recipe": ("squid ink",),
    "ingredient": ("whole egg",),
    "allergens": ("egg", "egg,molluscs"),
    "cook": ("ada", "bianca"),
    "die": ("rigatoni", "shells"),
    "worker": ("voice", "microphone"),
    "parts": ("speaker,lamp", "power supply"),
    "lot": ("4471a",),
    "said": ("rigatoni",),
    "near": ("rigatoni",),
    "heard": ("rigatoni",),
    "step": ("Olio.",),
    "caution": ("Olio.",),
    "start": ("18:30",),
    "command": ("water",),
}
"""Names of each kind that an announcement may carry."""
OTHERS = [language for language in languages() if language != ENGLISH]


@cache
def read(language: str, name: str) -> dict[str, Any]:
    return tomllib.loads((grammar_folder(language) / name).read_text(encoding="utf-8"))


@pytest.fixture(scope="module", params=languages())
def language(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def replies(language: str) -> Replies:
    return replies_of(language)


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return load_grammar(grammar_folder() / "commands.jsgf")


def cases(key: str) -> Iterator[dict[str, Value]]:
    """Values for a key: every sample number, and every case that a file has a wording for."""
    table = read(ENGLISH, "replies.toml")
    by = table[key]["by"] if isinstance(table[key], dict) else None
    texts = sorted(SAYABLE[key] & TEXT_VALUES)
    for number in SAMPLE_NUMBERS:
        values: dict[str, Value] = {name: number for name in SAYABLE[key] if name not in TEXT_VALUES}
        values |= {name: SAMPLE_NAMES[name][0] for name in texts}
        yield values
        for name in texts:
            yield from ({**values, name: sample} for sample in SAMPLE_NAMES[name])
        if by in TEXT_VALUES or by == "what":
            yield from ({**values, by: case} for case in table[key] if case not in ("by", "other"))


def rendered(replies: Replies, key: str) -> set[str]:
    return {replies.render(say(key, None, **values)) for values in cases(key)}


@pytest.mark.parametrize("key", sorted(SAYABLE))
def test_every_reply_is_calm_short_and_whole(replies: Replies, key: str) -> None:
    for text in rendered(replies, key):
        assert re.fullmatch(r"«?[A-ZÈ0-9].*[.?]", text), text
        assert not re.search(r"[!{}_]|  ", text), text
        assert not re.search(r"[.?] [a-zè]", text), text
        assert len(re.findall(r"[.?](?: |$)", text)) <= 2, text
        assert len(text.split()) <= 24, text


@pytest.mark.parametrize("key", sorted(k for k in SAYABLE if k.startswith("ask_")))
def test_a_question_ends_as_one(replies: Replies, key: str) -> None:
    assert all(text.endswith("?") for text in rendered(replies, key))


def test_what_the_voice_makes_ahead_is_whole(replies: Replies) -> None:
    fixed = replies.fixed()
    assert len(fixed) > 100
    assert not [text for text in fixed if re.search(r"[{}]", text)]


# --- no English in another language

WORDS_OF_BOTH = {
    "zero",
    "all",
    "a",
    "i",
    "in",
    "timer",
    "come",
    "rigatoni",
    "olio",
    "due",
    "ada",
    "bianca",
} | {"o"}
"""Words of the English replies, or of the sample names, that are Italian too."""


def english_words() -> set[str]:
    """All words of the English replies, of the numbers and of the names that the samples carry."""
    text = (grammar_folder() / "replies.toml").read_text(encoding="utf-8")
    wordings = re.findall(r'"([^"]*)"', re.sub(r"(?m)^#.*$", "", text))
    plain = " ".join(re.sub(r"\{[^}]*\}", " ", wording) for wording in wordings)
    english = replies_of(ENGLISH)
    spoken = " ".join(text for key in SAYABLE for text in rendered(english, key))
    return set(re.findall(r"[a-z]+", f"{plain} {spoken}".lower()))


@pytest.mark.parametrize("other", OTHERS)
def test_no_english_word_is_said_in_another_language(other: str) -> None:
    replies, english = replies_of(other), english_words() - WORDS_OF_BOTH
    assert {"batch", "crumb", "fifteen", "minutes", "the"} <= english
    for key in SAYABLE:
        for text in rendered(replies, key):
            unquoted = re.sub(r"«[^»]*»", "", text).lower()
            assert english & set(re.findall(r"[^\W\d_]+", unquoted)) == set(), text


@pytest.mark.parametrize("other", OTHERS)
def test_what_is_quoted_is_a_command_that_is_heard(other: str, grammar: Grammar) -> None:
    text = (grammar_folder(other) / "replies.toml").read_text(encoding="utf-8")
    text += (grammar_folder(other) / "walks.toml").read_text(encoding="utf-8")
    quoted = set(re.findall(r"«([^»{}]+)»", re.sub(r"(?m)^#.*$", "", text)))
    assert len(quoted) > 20
    assert [words for words in quoted if not heard(grammar, words.lower())] == []


def heard(grammar: Grammar, words: str) -> bool:
    """Whether the words are a command, or become one with the number or the shape that they lack."""
    return any(
        grammar.parse(f"{words}{more}", asking=Asking.ANSWER) is not None
        for more in ("", " forty", " rigatoni")
    )


# --- the same keys, and the same care


def flat(table: Any, before: str = "") -> set[str]:
    """Keys of a file, those inside sections by their whole way; the cases of a wording are its own affair."""
    found = set()
    for name, value in table.items():
        inside = isinstance(value, dict) and not {"by", "other"} <= value.keys() and "steps" not in value
        found |= flat(value, f"{before}{name}.") if inside else {f"{before}{name}"}
    return found


@pytest.mark.parametrize("other", OTHERS)
def test_every_file_has_the_keys_of_the_english_one(other: str) -> None:
    shared = {file.name for file in grammar_folder(other).glob("*.toml")}
    shared &= {file.name for file in grammar_folder().glob("*.toml")}
    assert {"replies.toml", "walks.toml"} <= shared
    for name in shared:
        assert flat(read(other, name)) == flat(read(ENGLISH, name)), name


@pytest.mark.parametrize("other", OTHERS)
def test_a_wording_by_a_name_has_the_english_cases(other: str) -> None:
    ours, english = (read(other, "replies.toml"), read(ENGLISH, "replies.toml"))
    picked = [key for key, value in english.items() if isinstance(value, dict) and value["by"] in PICKING]
    assert set(picked) == {
        *(
            "number_missing",
            "what_then",
            "unit_unfit",
            "undone_other",
            "condition_told",
            "worker_died",
            "worker_works",
            "timer_stopped",
        ),
        "taken_out",
        *("timer_over", "got_it"),
    }
    assert {key: set(ours[key]) for key in picked} == {key: set(english[key]) for key in picked}


PICKING = {"command", "what", "worker", "timer"}
"""Values that are names and pick a wording; a number picks by the grammar of the language."""

# ISO 12100 and 29 CFR 1910.147 leave isolation to the person; each language must say so with the same force.
CARE: dict[str, dict[str, tuple[str, ...]]] = {
    "mixer_off": {"en": ("hands clear", "unplug", "before"), "it": ("mani fuori", "spina", "prima")},
    "extruding_early": {"en": ("careful", "packs", "stalls"), "it": ("attenzione", "impacca", "blocca")},
    "extruding_low": {"en": ("careful", "packs", "stalls"), "it": ("attenzione", "impacca", "blocca")},
    "extruding_dry": {"en": ("careful", "packs", "stalls"), "it": ("attenzione", "impacca", "blocca")},
    "tray_care": {"en": ("degrees within", "before you cover"), "it": ("gradi entro", "prima di coprire")},
    "you_switch": {"en": ("i switch nothing", "you switch off"), "it": ("non spengo niente", "spegni tu")},
    "tray_cold_late": {
        "en": ("if it wasn't at", "degrees in time", "bin it"),
        "it": ("se non era in tempo a", "gradi", "buttalo"),
    },
    "tray_rings": {"en": ("if it isn't at", "degrees", "bin it"), "it": ("se non è a", "gradi", "buttalo")},
    "next_tray": {"en": ("if it isn't at", "degrees", "bin it"), "it": ("se non è a", "gradi", "buttalo")},
    "walk_safety": {"en": ("not past",), "it": ("non si passa",)},
    "walk_skipped_safety": {"en": ("written down",), "it": ("scritto",)},
    "not_written": {"en": ("nothing is written", "power", "lost"), "it": ("non scrivo", "corrente", "perde")},
    "journal_moved": {"en": ("check", "before you pour"), "it": ("controlla", "prima di versare")},
    "journal_aside": {"en": ("check", "before you pour"), "it": ("controlla", "prima di versare")},
    "journal_lost": {"en": ("check", "before you pour"), "it": ("controlla", "prima di versare")},
    "time_left_unsure": {"en": ("power", "clock"), "it": ("corrente", "orologio")},
    "scale_drifted": {"en": ("calibrate",), "it": ("taratura",)},
}


@pytest.mark.parametrize("key", CARE)
def test_a_caution_is_as_firm_in_every_language(key: str, language: str, replies: Replies) -> None:
    for text in rendered(replies, key):
        for words in CARE[key][language]:
            assert words in text.lower()


def test_what_is_read_in_italian_is_as_firm() -> None:
    cautions, page = read("it", "sheets.toml")["cautions"], read("it", "board.toml")["page"]
    assert "spenta e spina staccata" in cautions["unplugged"]["text"]
    assert "spenta e spina staccata" in page["note"]
    assert "non assaggiare" in cautions["raw_flour"]["text"]
    assert "{celsius:degrees} o meno entro {cold_s:hours} ore" in cautions["down_to_cold"]["text"]


@pytest.mark.parametrize("other", OTHERS)
def test_the_steps_of_a_walk_through_are_as_safe_as_the_english_ones(other: str) -> None:
    ours, english = (load_walks([grammar_folder(one) / "walks.toml"]) for one in (other, ENGLISH))
    assert ours.keys() == english.keys()
    for name, walk in english.items():
        marks = [(step.safety, step.caution is not None) for step in walk.steps]
        assert [(step.safety, step.caution is not None) for step in ours[name].steps] == marks


def test_every_reply_that_sends_a_hand_in_begins_with_switching_off(language: str, replies: Replies) -> None:
    at_the_machine = [key for key in SAYABLE if not key.startswith(ELSEWHERE)]
    calls = {
        text for key in at_the_machine for text in rendered(replies, key) if HAND_IN[language].search(text)
    }
    assert {"squeeze_now", "mix_rings"} <= {key for key in SAYABLE if rendered(replies, key) & calls}
    assert len(calls) >= 12
    assert [text for text in calls if hand_before_off(text, language)] == []


@pytest.mark.parametrize("key", ["mix_then_squeeze", "on_target_mix", "at_high_mix", "next_wait_mix"])
def test_a_look_after_a_run_is_off_and_unplugged_before_any_hand(
    key: str, language: str, replies: Replies
) -> None:
    # Where no timer runs and "mixer off" is not said, this is all that is heard before the lid.
    unplugged = {"en": "unplugged", "it": "spina"}[language]
    for text in rendered(replies, key):
        at = HAND_IN[language].search(text)
        assert at is not None
        assert unplugged in text[: at.start()]


def test_what_is_read_never_sends_a_hand_in_before_the_switch(language: str) -> None:
    for name in ("sheets.toml", "board.toml", "pages.toml"):
        texts = [text for text in strings(read(language, name)) if hand_before_off(text, language)]
        assert texts == [], name
    assert OFF[language].search(read(language, "board.toml")["page"]["note"].partition(".")[0])
    assert OFF[language].search(read(language, "sheets.toml")["cautions"]["unplugged"]["text"])


def strings(table: Any) -> Iterator[str]:
    for value in table.values():
        if isinstance(value, dict):
            yield from strings(value)
        elif isinstance(value, str):
            yield value


def test_every_walk_through_begins_with_off_and_unplugged_hands_clear(language: str) -> None:
    words = {"en": ("unplugged", "hands clear"), "it": ("spina", "mani fuori")}[language]
    walks = load_walks([grammar_folder(language) / "walks.toml"]).values()
    assert len(walks) >= 3
    for walk in walks:
        first = walk.steps[0]
        assert first.caution is None
        assert not HAND_IN[language].search(first.say)
        assert re.search(r"(?i)\boff\b|spenta|spegni", first.say)
        assert all(word in first.say for word in words)


@pytest.mark.parametrize(
    ("text", "language", "wrong"),
    [
        ("Mixing time is up. Squeeze the crumb.", "en", True),
        ("Squeeze, then switch off.", "en", True),
        ("Forty over the hopper. Take some out first.", "en", True),
        ("Open the lid.", "en", True),
        ("Trim at the die.", "en", True),
        ("Sauce timer off. Reach in.", "en", True),
        ("Mix, then off, unplugged, squeeze.", "en", False),
        ("Off and unplugged before you open it, hands clear.", "en", False),
        ("Scrap forty.", "en", False),
        ("Stringi, poi spegni.", "it", True),
        ("Prima togline un po'.", "it", True),
        ("Spegni, poi stringi.", "it", False),
    ],
)
def test_the_list_of_words_finds_a_hand_before_the_switch(text: str, language: str, wrong: bool) -> None:
    assert hand_before_off(text, language) is wrong


def test_the_cook_of_the_rehearsal_switches_off_before_each_squeeze() -> None:
    running, squeezes = False, 0
    for turn in read(ENGLISH, "rehearsal.toml")["turn"]:
        said = turn.get("say", "")
        if re.match(r"mix\b|mixer on|extruding", said):
            running = True
        elif said == "mixer off":
            running = False
        elif said.startswith("crumb"):
            squeezes += 1
            assert not running, said
    assert squeezes >= 3


UNSAFE_TO_SAY = {"en": r"\bsafe|\breach in", "it": r"\bsicur|\btranquill|senza pericolo|puoi mettere"}


def test_nothing_ever_says_that_it_is_safe(language: str, replies: Replies) -> None:
    # 29 CFR 1910.147: isolation is the worker's own; the assistant is no safety function.
    walks = load_walks([grammar_folder(language) / "walks.toml"]).values()
    said = [text for key in SAYABLE for text in rendered(replies, key)]
    said += [part for walk in walks for step in walk.steps for part in (step.say, step.caution or "")]
    assert [text for text in said if re.search(UNSAFE_TO_SAY[language], text.lower())] == []


# --- names

ITALIAN_ALREADY = {
    *("bucatini", "fettuccine", "fusilli", "lasagne", "linguine", "penne", "rigatoni", "spaghetti"),
    *("tagliatelle", "pasta"),
}


def test_every_name_that_ships_has_an_italian_one() -> None:
    names = read_names([grammar_folder("it") / NAMES_FILE]).keys() | ITALIAN_ALREADY
    commands = (grammar_folder() / "commands.jsgf").read_text(encoding="utf-8")
    tagged = set(re.findall(r"\{(?:name|recipe|walk)=([a-z][a-z _]*)\}", commands))
    recipes = Recipes.load(Pantry.load())
    assert tagged >= {"sauce", "tray one", "squid ink", "rigatoni", "opening check"}
    # "all" is what "stop all timers" stops; it is never said.
    assert tagged - {"mix", "rest", "all"} - names == set()
    assert set(recipes.plans) - names == set()
    assert {content.name for content in Pantry.load()} - names == set()
    planned = {
        f"{file.stem.replace('_', ' ')} {shape}"
        for file in SHIPPED_RECIPES.glob("*.toml")
        for shape in tomllib.loads(file.read_text(encoding="utf-8")).get("shapes", ())
    }
    assert len(planned) >= 10
    assert planned - names == set()


def test_a_home_reads_the_kitchens_own_names_last(tmp_path: Path) -> None:
    home = Home.find(tmp_path)
    own = home.grammar_folder("it") / NAMES_FILE
    own.parent.mkdir(parents=True)
    own.write_text('"squid ink" = "nera"\nchard = "bietola"\n', encoding="utf-8")
    names = read_names(home.language_files(NAMES_FILE, "it"))
    assert (names["squid ink"], names["chard"], names["egg"]) == ("nera", "bietola", "all'uovo")
