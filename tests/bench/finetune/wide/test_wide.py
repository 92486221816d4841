# ruff: noqa: RUF001 - IPA
"""Teaching for breadth: wide text, spellings, real sentences, minimal pairs, several teachers."""

from pathlib import Path
from random import Random

import numpy as np
import pytest

from tests.bench.finetune import archive
from tests.bench.finetune.archive import BLANK, BOUNDARY
from tests.bench.finetune.evaluate import FINE_TUNED_WORDS, words_of
from tests.bench.finetune.lexicon import Targets
from tests.bench.finetune.speech import corpus, phrases, voices
from tests.bench.finetune.wide import people, spelling_table, wide_text

NOUNS = """  1 This software and database is being provided
0771 13 n 02 ravioli 0 fried_rice 0 001 @ 07 n 00 | small cases of dough; "they ate 3 of them"; "more, please"
0174 03 n 01 entity 0 003 ~ 00001930 n 00 | that which is perceived (or known) to have a distinct existence
""".splitlines()


def test_wordnet_gives_definitions_examples_and_names_of_food() -> None:
    known = {word for line in NOUNS for word in line.replace(";", "").replace('"', "").split()} - {
        "perceived"
    }
    found = wide_text.collected(wide_text.wordnet_texts(NOUNS), known, Random(1))
    assert found == ["small cases of dough"]
    assert list(wide_text.wordnet_foods(NOUNS)) == ["ravioli", "fried rice"]


def test_a_long_text_comes_in_phrases_without_losing_a_word() -> None:
    words = [f"{letter}a" for letter in "bcdfghjklmnpqrstvwxz"]
    parts = list(wide_text.pieces(words, Random(2)))
    assert [word for part in parts for word in part] == words
    assert max(len(part) for part in parts) <= wide_text.LONGEST
    assert wide_text.plain("It's well-known") == ["it's", "well", "known"]
    assert wide_text.plain("in 1851") is None


def test_rare_words_are_drawn_about_as_often_as_common_ones(tmp_path: Path) -> None:
    path = tmp_path / "wide.txt"
    path.write_text("\n".join([f"the {word}" for word in "abcdefghij"] + ["rare"] + ["----", "ragu", ""]))
    wide = wide_text.read(path)
    rng = Random(3)
    drawn = [wide.draw(rng) for _ in range(2000)]
    assert {sentence.kind for sentence in drawn} == {"wide", "named"}
    assert sum(sentence.text == "rare" for sentence in drawn) > 100
    assert any(sentence.text == "ragu" for sentence in drawn)
    assert any("ragu" in sentence.text for sentence in drawn if sentence.kind == "named")


def test_the_dictionary_is_written_in_the_symbols_of_the_network(tmp_path: Path) -> None:
    path = tmp_path / "cmudict.dict"
    path.write_text("mocha M OW1 K AH0\nmocha(2) M OW1 K AA2 # a comment\nchurch CH ER1 CH\n")
    words = spelling_table.dictionary(path)
    assert words == {"mocha": ["m oʊ k ə", "m oʊ k ɑ"], "church": ["t͡ʃ ɝ t͡ʃ"]}
    assert wide_text.dictionary_words(path) == {"mocha", "church"}


def test_a_taught_word_has_its_one_spelling_and_another_those_of_the_table(tmp_path: Path) -> None:
    table = tmp_path / "spellings.json"
    table.write_text('{"mocha": ["m o t͡ʃ a", "m oʊ k ə"], "fifty": ["f ɪ f t i"]}')
    targets = Targets(spellings=table)
    assert len(targets.pronounce("mocha")) == 2
    assert targets.pronounce("fifty") == Targets().pronounce("fifty")
    assert targets.pronounce("") == ((),)
    assert targets.first("fifty mocha") == (*targets("fifty")[0][0], BOUNDARY, *targets("mocha")[0][0])


def test_every_word_of_the_grammar_is_taught() -> None:
    from assistant.config.language.pronunciations import read_pronunciations
    from assistant.config.resources import grammar_folder
    from assistant.nlu.grammar import load_grammar
    from assistant.ports import Asking

    taught = read_pronunciations(FINE_TUNED_WORDS).words
    heard = set(load_grammar(grammar_folder() / "commands.jsgf").graph(Asking.NOTHING).word)
    assert {"isn't", "poured", "put", "meringue"} & heard <= set(taught)
    assert len(heard - set(taught)) < 0.05 * len(heard)


def test_an_evaluation_takes_the_words_beside_a_weight_file(tmp_path: Path) -> None:
    assert words_of(tmp_path / "one.hama") == FINE_TUNED_WORDS
    (tmp_path / "one.toml").write_text("[words]\n")
    assert words_of(tmp_path / "one.hama") == tmp_path / "one.toml"


def test_the_best_path_through_a_target_is_found() -> None:
    heard = np.full((9, 191), -9.0, np.float32)
    for frame, symbol in enumerate([BLANK, 7, 7, BLANK, 8, BOUNDARY, BLANK, 9, BLANK]):
        heard[frame, symbol] = -0.1
    assert people.aligned(heard, (7, 8, BOUNDARY, 9)).tolist() == [-1, 0, 0, -1, 1, 2, -1, 3, -1]


def test_a_sentence_is_cut_where_it_pauses() -> None:
    rng = np.random.default_rng(1)
    second = voices.RATE
    loud = (3000 * rng.standard_normal(3 * second)).astype(np.int16)
    pcm = np.concatenate([loud, np.zeros(second // 2, np.int16), loud])
    frames = len(pcm) // people.FRAME
    target = (7, BOUNDARY, 8)
    places = np.full(frames, -1)
    places[140], places[160], places[180] = 0, 1, 2
    first, last = people.cut_at_pauses(pcm, ["one", "two"], target, places, Random(1))
    assert (first[2], last[2]) == ("one", "two")
    assert 3 * second <= first[1] <= 3.5 * second
    assert first[1] + last[1] == len(pcm)


def test_denials_come_beside_what_they_deny() -> None:
    rng = Random(5)
    said = [phrases.contrast(rng).text for _ in range(800)]
    assert {"mixer on", "mixer off"} <= set(said)
    assert any("isn't" in text for text in said)
    assert any(" is " in f" {text} " for text in said)
    rivals = {
        other for seed in range(30) for _, other in phrases.rivals("the crumb isn't ready", Random(seed))
    }
    assert "is" in rivals
    lost = {pair for seed in range(30) for pair in phrases.rivals("lot four oh seven", Random(seed))}
    assert (2, "") in lost


def test_what_a_program_cannot_say_is_left_out_and_the_rest_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def say(_voice: voices.Voice, texts: list[str], _seed: int) -> list[np.ndarray]:
        if "bad" in texts:
            raise ValueError("no sound")
        return [np.ones(len(text), np.float32) for text in texts]

    monkeypatch.setattr(voices, "say", say)
    said = corpus.said_by(voices.VOICES[0], ["one", "bad", "three", "seven"], 1)
    assert [len(sound) for sound in said] == [3, 0, 5, 5]


def test_each_clip_is_taught_by_the_network_that_hears_it_better() -> None:
    torch = pytest.importorskip("torch", reason="torch is needed for fine-tuning only")
    torch.set_num_threads(1)
    from tests.bench.finetune import network, training_set

    name = "acoustic_model.model.proj.bias"
    tensors = archive.read(archive.packaged())
    likes_seven, likes_eight = (
        network.weights({**tensors, name: tensors[name] + 25 * np.eye(191, dtype=np.float32)[symbol]})
        for symbol in (7, 8)
    )
    rng = np.random.default_rng(2)
    noise = 0.1 * rng.standard_normal(6400)
    part = corpus.collect([(noise, "a", "talk", "x"), (noise[::-1].copy(), "b", "talk", "x")])
    spelled = [[[(7,), (9,)]], [[(9,), (8,)]]]
    found = training_set.best_targets(part, part.clips, spelled, [likes_seven, likes_eight])
    assert [(target, teacher) for target, _, teacher in found] == [((7,), 0), ((8,), 1)]
