"""The decoder against the definition of CTC (see brute_force) on small graphs: all sentences and scores."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from assistant.asr.confidence import BOTH
from assistant.asr.search.best_sentences import Search, best_sentences
from assistant.asr.search.judging import DecodingLimits, judge
from assistant.asr.search.phone_graph import expand
from assistant.asr.search.trellis import Trellis
from assistant.ports import WordGraph
from assistant.testing.audio import sentence_graph
from tests.asr.search.brute_force import Spelling, best_scores, collapse

A, B, BOUNDARY, BLANK = range(4)
WORDS = ("mix", "rest", "tray")


def trellis_of(
    log_probs: NDArray[np.float64], graph: WordGraph, spelling: Spelling, block: int = 100
) -> Trellis:
    trellis = Trellis(expand(graph, lambda word: spelling[word]), BLANK, BOUNDARY)
    for start in range(0, len(log_probs), block):
        trellis.feed(log_probs[start : start + block].astype(np.float32))
    return trellis


@st.composite
def graphs(draw: st.DrawFn) -> WordGraph:
    """Small deterministic automata, loops and dead ends and several final states included."""
    n_states = draw(st.integers(1, 3))
    arcs = [
        (source, draw(st.integers(0, n_states - 1)), word)
        for source in range(n_states)
        for word in WORDS
        if draw(st.booleans())
    ]
    final = draw(st.frozensets(st.integers(0, n_states - 1), min_size=1))
    if not arcs:
        arcs = [(0, n_states - 1, "mix")]
    source, target, word = zip(*arcs, strict=True)
    return WordGraph(n_states, source, target, word, final)


phones = st.lists(st.sampled_from([A, B]), min_size=1, max_size=3)
spellings = st.fixed_dictionaries({word: st.lists(phones, min_size=1, max_size=2) for word in WORDS})
outputs = st.tuples(st.integers(1, 5), st.integers(0, 2**32 - 1)).map(
    lambda drawn: np.log(np.random.default_rng(drawn[1]).dirichlet(np.full(4, 0.5), size=drawn[0]) + 1e-9)
)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(outputs, graphs(), spellings, st.integers(1, 5))
def test_every_sentence_comes_out_in_its_place_with_its_score(
    log_probs: NDArray[np.float64], graph: WordGraph, spelling: Spelling, block: int
) -> None:
    truth = {
        words: score
        for words, score in best_scores(log_probs, graph, spelling, BLANK, BOUNDARY).items()
        if words
    }

    found = list(best_sentences(trellis_of(log_probs, graph, spelling, block)))

    assert {sentence.words for sentence in found} == set(truth)
    assert len(found) == len(truth), "a sentence came twice"
    assert [sentence.score for sentence in found] == pytest.approx(
        sorted(truth.values(), reverse=True), abs=1e-3
    )
    for sentence in found:
        assert sentence.score == pytest.approx(truth[sentence.words], abs=1e-3)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(outputs, outputs, graphs(), spellings, spellings)
def test_two_networks_give_every_sentence_in_the_order_of_its_mean_score(
    one: NDArray[np.float64], other: NDArray[np.float64], graph: WordGraph, first: Spelling, second: Spelling
) -> None:
    """Each with its own spellings and its own number of frames; a sentence that one can't say is none."""
    truths = [
        best_scores(log_probs, graph, spelling, BLANK, BOUNDARY)
        for log_probs, spelling in ((one, first), (other, second))
    ]
    truth = {
        words: (truths[0][words], truths[1][words]) for words in truths[0].keys() & truths[1].keys() if words
    }

    found = list(best_sentences(trellis_of(one, graph, first), trellis_of(other, graph, second)))

    assert {sentence.words for sentence in found} == set(truth)
    assert len(found) == len(truth), "a sentence came twice"
    assert [sentence.score for sentence in found] == pytest.approx(
        sorted((sum(scores) / 2 for scores in truth.values()), reverse=True), abs=1e-3
    )
    for sentence in found:
        assert sentence.scores == pytest.approx(truth[sentence.words], abs=1e-3)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(outputs, graphs(), spellings, st.lists(st.booleans(), min_size=9, max_size=9))
def test_a_part_of_a_graph_has_the_sentences_of_its_steps_with_their_scores(
    log_probs: NDArray[np.float64], graph: WordGraph, spelling: Spelling, drawn: list[bool]
) -> None:
    whole = expand(graph, lambda word: spelling[word])
    kept = np.array(drawn[: len(whole.steps)] + [True] * max(0, len(whole.steps) - len(drawn)))
    trellis = Trellis(whole.only(kept), BLANK, BOUNDARY)
    trellis.feed(log_probs.astype(np.float32))
    arcs = [
        arc
        for arc in zip(graph.source, graph.target, graph.word, strict=True)
        if any(
            kept[number] and arc[2] == step.word and arc[0] in step.sources
            for number, step in enumerate(whole.steps)
        )
    ]
    if not arcs:
        assert whole.only(kept).n_chains == 0
        return
    source, target, word = zip(*arcs, strict=True)
    part = WordGraph(graph.n_states, source, target, word, graph.final)
    truth = {
        words: score
        for words, score in best_scores(log_probs, part, spelling, BLANK, BOUNDARY).items()
        if words
    }

    found = list(best_sentences(trellis))

    assert {sentence.words: sentence.score for sentence in found} == pytest.approx(truth, abs=1e-3)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(outputs, graphs(), spellings, st.floats(0.0, 30.0))
def test_a_floor_changes_nothing_above_it_and_tells_whether_something_is_below(
    log_probs: NDArray[np.float64], graph: WordGraph, spelling: Spelling, depth: float
) -> None:
    every = list(best_sentences(trellis_of(log_probs, graph, spelling)))
    search = Search(trellis_of(log_probs, graph, spelling))
    floor = search.best - depth

    found = list(search.sentences(floor))

    assert found == every[: len(found)]
    assert search.cut == (len(found) < len(every))
    assert all(sentence.score < floor + 1e-3 for sentence in every[len(found) :])
    if every:
        assert every[0].score == pytest.approx(search.best, abs=1e-3)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(outputs, graphs(), graphs(), spellings, st.floats(0.5, 30.0))
def test_two_graphs_are_judged_as_if_they_were_one(
    log_probs: NDArray[np.float64], one: WordGraph, other: WordGraph, spelling: Spelling, margin: float
) -> None:
    """What is found in either; a sentence of both counts once."""
    limits = DecodingLimits(margin=margin, alternatives=100, sentences=10_000, grown=10**9)
    alone = [list(best_sentences(trellis_of(log_probs, graph, spelling))) for graph in (one, other)]
    scores = {sentence.text: sentence.score for found in alone for sentence in found}

    found = judge(
        [[trellis_of(log_probs, graph, spelling)] for graph in (one, other)], [0.0], str, BOTH, limits
    )

    if not scores:
        assert found.text == ""
        return
    best = max(scores.values())
    behind = sorted(best - score for score in scores.values())[1:]
    assert scores[found.text] == best
    near = [distance for distance in behind if distance <= margin - 1e-3]
    assert [rival.behind for rival in found.alternatives][: len(near)] == pytest.approx(near, abs=1e-6)
    assert found.margin == pytest.approx(min([*behind[:1], margin]) if behind else math.inf, abs=1e-3)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(outputs, graphs(), spellings)
def test_margin_is_the_distance_to_the_best_other_meaning(
    log_probs: NDArray[np.float64], graph: WordGraph, spelling: Spelling
) -> None:
    def meaning(text: str) -> int:
        return len(text.split())

    truth = best_scores(log_probs, graph, spelling, BLANK, BOUNDARY)
    ranked = sorted(((score, words) for words, score in truth.items() if words), reverse=True)
    others = [score for score, words in ranked if len(words) != len(ranked[0][1])]

    found = judge(
        [[trellis_of(log_probs, graph, spelling)]],
        [0.0],
        meaning,
        BOTH,
        DecodingLimits(margin=math.inf, sentences=10_000, grown=10**9),
    )

    if not ranked:
        assert found.text == ""
        assert not found.accepted
    elif others:
        assert found.margin == pytest.approx(ranked[0][0] - others[0], abs=1e-3)
    else:
        assert math.isinf(found.margin)


def test_map_b_of_the_paper() -> None:
    """Its own example: B(a-ab-) = B(-aa--abb) = aab (section 3.1)."""
    assert collapse([A, BLANK, A, B, BLANK], BLANK) == (A, A, B)
    assert collapse([BLANK, A, A, BLANK, BLANK, A, B, B], BLANK) == (A, A, B)


def certain(*path: int) -> NDArray[np.float64]:
    """Log-probabilities of a network that is nearly certain of a path."""
    probability = np.full((len(path), 4), 0.01)
    probability[np.arange(len(path)), path] = 0.97
    log_probs: NDArray[np.float64] = np.log(probability)
    return log_probs


def text_of(log_probs: NDArray[np.float64], sentences: list[str], spelling: Spelling) -> str:
    return next(best_sentences(trellis_of(log_probs, sentence_graph(sentences), spelling))).text


def test_equal_phones_across_words_need_a_blank_or_a_boundary_between() -> None:
    spelling: Spelling = {"mix": [[B, A]], "tray": [[A]], "rest": [[B]]}
    sentences = ["mix", "mix tray", "mix rest"]

    assert text_of(certain(B, A, A, A), sentences, spelling) == "mix"
    assert text_of(certain(B, A, BLANK, A), sentences, spelling) == "mix tray"
    assert text_of(certain(B, A, BOUNDARY, A), sentences, spelling) == "mix tray"
    assert text_of(certain(B, A, B, B), sentences, spelling) == "mix rest"


def test_a_boundary_inside_a_word_costs() -> None:
    spelling: Spelling = {"mix": [[A, B]], "tray": [[A]], "rest": [[B]]}
    inside = certain(A, BOUNDARY, B)

    assert text_of(inside, ["mix", "tray rest"], spelling) == "tray rest"


def test_a_sentence_knows_its_phones() -> None:
    spelling: Spelling = {"mix": [[A, B]], "tray": [[A]], "rest": [[B]]}
    log_probs = certain(BLANK, A, BLANK, B, BLANK, BOUNDARY, A, A)

    best = next(best_sentences(trellis_of(log_probs, sentence_graph(["mix tray"]), spelling)))

    assert best.n_phones == (3,)


def test_too_few_frames_for_any_sentence_give_nothing() -> None:
    spelling: Spelling = {"mix": [[A, B, A]]}

    assert list(best_sentences(trellis_of(certain(A), sentence_graph(["mix"]), spelling))) == []


def test_where_too_much_would_have_to_be_grown_the_lead_is_what_was_still_open() -> None:
    spelling: Spelling = {"mix": [[A]], "rest": [[B]], "tray": [[A, B]]}
    trellis = trellis_of(certain(A, A, B), sentence_graph(["mix", "rest", "tray"]), spelling)
    whole = judge([[trellis]], [0.0], str, BOTH, DecodingLimits())

    cut = judge([[trellis]], [0.0], str, BOTH, DecodingLimits(grown=1))

    assert cut.text == whole.text == "tray"
    assert 0.0 <= cut.margin <= whole.margin
    assert cut.sure <= whole.sure


def test_talk_that_comes_to_no_end_is_not_accepted() -> None:
    """Two networks that hear opposite things: the first one's sentence, nothing more."""
    spelling: Spelling = {"mix": [[A]], "rest": [[B]]}
    graph = sentence_graph(["mix", "rest"])
    both = [trellis_of(certain(path, path), graph, spelling) for path in (A, B)]

    found = judge([both], [0.0, 0.0], str, BOTH, DecodingLimits(grown=0))

    assert (found.text, found.accepted, found.sure) == ("mix", False, 0.0)


def test_a_margin_that_is_not_searched_for_is_returned_as_its_limit() -> None:
    spelling: Spelling = {"mix": [[A]], "rest": [[B]]}
    trellis = trellis_of(certain(A, A), sentence_graph(["mix", "rest"]), spelling)

    assert judge([[trellis]], [0.0], str, BOTH, DecodingLimits(margin=3.0)).margin == 3.0
    assert judge([[trellis]], [0.0], str, BOTH, DecodingLimits(margin=30.0)).margin == pytest.approx(
        2 * math.log(97), abs=1e-3
    )
