"""The tools of the benchmark in small: what they count, what they choose among, who is left out."""

import csv
import itertools
from pathlib import Path

import numpy as np
import pytest

from assistant.ports import SPEECH_RATE
from tests.asr.speech import espeak
from tests.bench.ear import choice, engines, fit, new_names, people, silence
from tests.bench.ear.ears import NAMES, Ear, Fit, Name
from tests.bench.ear.figures import Figures, Rate
from tests.bench.ear.goals import GOALS, Goal, goals_table
from tests.bench.finetune.speech.corpus import speaker_split
from tests.bench.hearing.intervals import Share


def edits(one: tuple[str, ...], other: tuple[str, ...]) -> int:
    """Levenshtein's distance by its definition."""
    if not one or not other:
        return len(one) + len(other)
    return min(
        edits(one[1:], other[1:]) + (one[0] != other[0]), edits(one[1:], other) + 1, edits(one, other[1:]) + 1
    )


def test_phone_errors_are_those_of_the_spelling_that_fits_best() -> None:
    luck = np.random.default_rng(3)
    for _ in range(30):
        words = [
            [tuple(luck.choice(list("abc"), luck.integers(1, 3))) for _ in range(luck.integers(1, 4))]
            for _ in range(2)
        ]
        heard = tuple(luck.choice(list("abc"), luck.integers(0, 6)))
        readings = [tuple(itertools.chain(*ways)) for ways in itertools.product(*words)]
        best = min((edits(heard, reading), len(reading)) for reading in readings)
        assert fit.phone_errors(heard, words) == best


@pytest.mark.parametrize(
    ("count", "low", "high"), [(0, 0.0, 3.689), (1, 0.0253, 5.572), (10, 4.795, 18.390), (100, 81.36, 121.63)]
)
def test_rates_have_the_exact_interval_of_a_count(count: int, low: float, high: float) -> None:
    """Published figures: chi-square quantiles, halved."""
    assert Rate(count, 1.0).interval == pytest.approx((low, high), rel=1e-3)
    assert Rate(count, 0.5).interval == pytest.approx((2 * low, 2 * high), rel=1e-3)


def test_a_sentence_is_chosen_among_those_of_its_length() -> None:
    lengths = [7, 3, 9, 3, 8, 5, 4, 6, 5, 7]
    texts = [f"text {place}" for place in range(len(lengths))]
    of = dict(zip(texts, lengths, strict=True))
    groups = choice.by_length(texts, lengths, 4)
    assert {len(group) for group in groups} == {4}
    assert set(itertools.chain(*groups)) == set(texts)
    ordered = sorted(lengths)
    assert [sorted(of[text] for text in group) for group in groups] == [
        ordered[:4],
        ordered[4:8],
        ordered[-4:],
    ]
    assert choice.by_length(texts, lengths, 40) == [sorted(texts, key=lambda text: (of[text], text))]


def spoken(text: str, *, group: str = people.READERS, seconds: float = 1.0) -> people.Spoken:
    return people.Spoken(Path("no.flac"), text, "somebody", group, "sentence", seconds)


def test_a_grammar_of_transcripts_holds_all_that_is_said() -> None:
    texts = [f"text {place}" for place in range(30)]
    chosen = choice.mixed_lengths(texts, [spoken("text 3"), spoken("not among them")], 10)
    assert len(chosen) == len(set(chosen)) == 10
    assert {"text 3", "not among them"} <= set(chosen)


def test_half_of_a_sample_are_english_readers_where_there_are_as_many() -> None:
    said = [spoken(f"r {n}") for n in range(4)]
    said += [spoken(f"m {n}", group=people.MANDARIN) for n in range(20)]
    assert len(people.balanced(said, None)) == 24
    for most, readers in ((6, 3), (10, 4), (22, 4)):
        some = people.balanced(said, most)
        assert (len(some), sum(one.group == people.READERS for one in some)) == (most, readers)
        assert some == people.balanced(said, most)


def written(folder: Path, name: str, rows: list[dict[str, str]]) -> None:
    folder.mkdir(exist_ok=True)
    with (folder / name).open("w", newline="", encoding="utf-8") as file:
        table = csv.DictWriter(file, rows[0])
        table.writeheader()
        table.writerows(rows)


def test_whoever_taught_a_network_is_left_out(tmp_path: Path) -> None:
    def general(corpus: str, speaker: str, split: str, kind: str, text: str) -> dict[str, str]:
        return {
            "file": f"{speaker}.opus", "corpus": corpus, "speaker": speaker, "split": split, "kind": kind,
            "seconds": "1.5", "transcript": text,
        }  # fmt: skip

    def older(speaker: str, kind: str, text: str) -> dict[str, str]:
        return {
            "file": "a.flac",
            "kind": kind,
            "transcript": text,
            "speaker": speaker,
            "duration_s": "2",
        }

    speech = tmp_path / "speech"
    split_of = {n: speaker_split(f"gsc-{n}") for n in range(60)}
    taught, kept_back = (next(n for n in split_of if split_of[n] == split) for split in ("train", "test"))
    old = [older(f"gsc-{n}", "noncommand_word", word) for n, word in ((taught, "bed"), (kept_back, "cat"))]
    old += [older("a", "noncommand", "A whole, long sentence."), older("b", "noncommand", "hello")]
    written(speech, "manifest.csv", old)
    written(tmp_path / "speech_train", "index.csv", [{"speaker": "gsc-trained", "transcript": "go"}])
    written(
        tmp_path / "speech_general",
        "manifest.csv",
        [
            general("speech_commands_v1", "trained", "test", "word", "up"),
            general("speech_commands_v1", str(taught), "test", "word", "left"),
            general("speech_commands_v1", str(kept_back), "test", "word", "yes"),
            general("speech_commands_v1", "new", "test", "word", "right"),
            general("speech_commands_v1", "other", "dev", "word", "down"),
            general("speechocean762", "m", "test", "sentence", "he reads this"),
            general("librispeech", "r", "dev", "sentence", "she reads that"),
        ],
    )
    assert {one.text for one in people.short_calls(speech, "test")} == {"cat", "hello", "right", "yes"}
    assert {one.text for one in people.short_calls(speech, "dev")} == {"down"}
    assert [(one.text, one.group) for one in people.sentences(speech, "test")] == [
        ("he reads this", people.MANDARIN),
        ("a whole long sentence", people.READERS),
    ]
    assert [one.text for one in people.sentences(speech, "dev")] == ["she reads that"]
    assert people.every_text(speech) == ["a whole long sentence", "he reads this", "she reads that"]


def test_quiet_around_a_voice_is_cut_off() -> None:
    pcm = espeak("crumb ready").pcm
    cut = people.voiced(np.pad(pcm, 32_000))
    assert len(cut) < len(pcm) + 2 * people.AROUND_S * SPEECH_RATE + 8_000
    assert np.abs(cut).max() == np.abs(pcm).max()


def test_a_kitchen_can_say_all_its_new_names(tmp_path: Path) -> None:
    ear = Ear("packaged", tmp_path)
    chosen, known = new_names.new_names(ear.application.grammar)
    assert len({name.said for name in chosen} | set(known)) == len(chosen) + len(known) == 200
    assert len(known) <= 10, "take new ones: draw another list, and name the table before"
    groups = list(new_names.kitchens(chosen))
    assert sorted(name.said for some in groups for name in some) == sorted(name.said for name in chosen)
    some = groups[0]
    kitchen = ear.kitchen("one", *new_names.files(some))
    assert kitchen.words.problems == ()
    for place, name in enumerate(some):
        for kind in new_names.kinds_of(place):
            text = new_names.SENTENCES[kind].format(name.said)
            assert ear.application.grammar.parse(text) is None, "it would measure nothing new"
            command = kitchen.grammar.parse(text)
            assert name.said in (getattr(command, "name", ""), getattr(command, "recipe", "")), text


@pytest.mark.parametrize("name", NAMES)
def test_an_ear_hears_what_fits(name: Name, tmp_path: Path) -> None:
    ear = Ear(name, tmp_path)
    sound = espeak("timer custard ten minutes")
    found = ear.among(
        ["timer custard ten minutes", "timer mustard two minutes", "time must be ours"]
    ).recognise(sound)
    assert found.text == "timer custard ten minutes"
    true, false = ear.fit(sound, found.text), ear.fit(sound, "seven grey kittens")
    assert true.cost == pytest.approx(found.cost, abs=0.01)
    assert true.cost < false.cost
    assert (true.alone, false.alone) == (True, False)
    if true.heard is None:
        assert name == "both"
        return
    errors, phones = fit.phone_errors(true.heard, true.words)
    assert errors < phones / 2 < fit.phone_errors(true.heard, false.words)[0]


def a_fit(heard: str, cost: float) -> Fit:
    return Fit(cost, cost < 1.0, tuple(heard), [[tuple("ab")]])


def every_figure() -> Figures:
    """What the tables make of one result of each kind."""
    figures: Figures = {}
    for snr in ("quiet", "10 dB", "5 dB"):
        said = [
            choice.Chosen("packaged", group, snr, "a", "a", "acted")
            for group in (people.MANDARIN, people.READERS)
        ]
        choice.choice_table(said, figures, "whole grammar")
        new_names.names_table(
            [new_names.Called("packaged", "timer", "dishes", snr, "a", "a", right=True, outcome="right")],
            figures,
        )
        for name in ("calls", "talk"):
            heard = silence.Overheard("packaged", snr, 60.0, "a", "", command=False, outcome="again")
            silence.silence_table([heard], figures, name)
    for snr in ("quiet", "10 dB", "5 dB"):
        judged = [
            engines.Said("packaged", engines.engine(voice), snr, "a", "a", "right", 2.0, 0.1)
            for voice in (engines.JUDGES[0].name, "flite slt")
        ]
        engines.engines_table(judged, figures)
    return figures


def test_every_goal_is_held_against_a_figure_of_the_tables() -> None:
    figures = every_figure()
    assert [goal.figure for goal in GOALS if ("packaged", goal.figure) not in figures] == []
    assert "not measured" not in goals_table(["packaged"], figures)


def test_a_goal_that_was_missed_says_so() -> None:
    goals = (Goal("right, %", "right", 90.0), Goal("acted on, an hour", "acted", 1.0, least=False))
    figures: Figures = {
        ("a", "right"): Share(8, 10),
        ("b", "right"): Share(9, 10),
        ("a", "acted"): Rate(3, 2.0),
    }
    figures["b", "acted"] = Rate(0, 1.0)
    rows = goals_table(["a", "b", "c"], figures, goals).splitlines()[2:]
    assert [[cell.endswith("missed") for cell in row.split(" | ")[2:4]] for row in rows] == [
        [True, False]
    ] * 2
    assert all(row.endswith("not measured |") for row in rows)


def test_fit_counts_sentences_and_phones() -> None:
    heard = [
        fit.Fitted("packaged", group, "quiet", a_fit(phones, cost))
        for group, phones, cost in (("one", "ab", 0.5), ("one", "a", 1.5), ("two", "xy", 1.3))
    ]
    figures: Figures = {}
    table = fit.fit_table(heard, figures)
    assert figures["packaged", "fit quiet, all"] == Share(1, 3)
    assert [row.split(" | ")[-1] for row in table.splitlines()[2:]] == ["50.0 |", "25.0 |", "100.0 |"]


def test_what_is_a_command_as_it_stands_counts_apart() -> None:
    def one(outcome: str, *, command: bool) -> silence.Overheard:
        return silence.Overheard("packaged", "quiet", 1800.0, outcome, "stop", command, outcome)

    results = [one("wrong", command=False), one("caught", command=False), one("right", command=True)]
    figures: Figures = {}
    row = silence.silence_table(results, figures, "calls").splitlines()[2].split(" | ")
    assert figures["packaged", "calls quiet"] == Rate(1, 1.0)
    assert row[2:5] == ["2", "1.00", "1"]
    assert row[-2:] == ["1", f"{Share(1, 1)} |"]
    assert silence.taken(results) == "- packaged, quiet: wrong -> stop\n"
