"""Recogniser on any Vosk model folder, restricted to the grammar, with the phoneme network's second opinion.

Vosk finds the words; it does not say when nobody spoke to it (measured: an unrelated sentence came back as
words of the grammar with confidence up to 1.0). So a sentence must be one of the grammar, and where there is
a second opinion the sound must fit it.
"""

import functools
import json
import logging
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Generic, Protocol

from assistant.asr import phoneme
from assistant.asr.parts import Parts
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.errors import GrammarError, ModelError
from assistant.ports import SPEECH_RATE, Asking, Hypothesis, M, Recognition, Sound, WordGraph

_BLOCK = 4000
_UNKNOWN = "[unk]"
_log = logging.getLogger(__name__)


def build(parts: Parts[M]) -> "VoskRecogniser[M]":
    """The recogniser on the model of the parts, with the phoneme network as its second opinion."""
    if parts.model_path is None:
        raise ModelError(
            "The vosk recogniser needs a model; fetch one with `crumbcall model get` "
            "or use the phoneme recogniser."
        )
    second = phoneme.build(replace(parts, model_path=None))
    commands, answers = (parts.graph(asking).words for asking in (Asking.NOTHING, Asking.ANSWER))
    transcriber = VoskTranscriber(parts.model_path, commands, answers)
    return VoskRecogniser(transcriber, parts.graph, meaning=second.meaning, second=second)


class Transcriber(Protocol):
    """Sound to words, without judgement."""

    def words(self, sound: Sound, *, asking: Asking) -> tuple[str, ...]:
        """Words of an utterance; may hold `[unk]`."""


class VoskTranscriber:
    """A Vosk model restricted to a list of words.

    `model_path`: folder of a model. `words`: those of the grammar; `asking_words`: while a question is open.
    `unknown_words`: words that the model does not know and so can't hear.
    Raises ModelError when the model can't be used, GrammarError when it knows none of the words.
    """

    def __init__(self, model_path: Path, words: Iterable[str], asking_words: Iterable[str] = ()) -> None:
        vocabulary = {False: frozenset(words)}
        vocabulary[True] = frozenset(asking_words) or vocabulary[False]
        self._model = _load(model_path)
        self.unknown_words = tuple(
            sorted(word for word in frozenset.union(*vocabulary.values()) if not self._knows(word))
        )
        if self.unknown_words:
            unknown = ", ".join(self.unknown_words)
            _log.warning("The Vosk model %s does not know, so can't hear: %s.", model_path, unknown)
        self._hearers = {asking: self._hearer(known, model_path) for asking, known in vocabulary.items()}

    def words(self, sound: Sound, *, asking: Asking) -> tuple[str, ...]:
        """Words of all results: the engine may end an utterance by itself and start the next."""
        if sound.rate != SPEECH_RATE:
            raise ValueError(f"sound at {sound.rate} Hz; the model hears {SPEECH_RATE} Hz")
        hearer = self._hearers[asking > Asking.NOTHING]
        hearer.Reset()
        blocks = (sound.pcm[start : start + _BLOCK] for start in range(0, len(sound.pcm), _BLOCK))
        results = [hearer.Result() for block in blocks if hearer.AcceptWaveform(block.tobytes())]
        results.append(hearer.FinalResult())
        return tuple(" ".join(json.loads(result)["text"] for result in results).split())

    def _knows(self, word: str) -> bool:
        return bool(self._model.vosk_model_find_word(word) >= 0)

    def _hearer(self, words: Iterable[str], model_path: Path) -> Any:
        """An empty or broken list of words ends the whole process inside the engine: never hand it one."""
        import vosk

        known = sorted(word for word in words if self._knows(word))
        if not known:
            raise GrammarError(
                f"The Vosk model {model_path} knows no word of the grammar; "
                "use a model of the grammar's language."
            )
        if self._knows(_UNKNOWN):
            known.append(_UNKNOWN)
        return vosk.KaldiRecognizer(self._model, SPEECH_RATE, json.dumps(known, ensure_ascii=False))


class VoskRecogniser(Generic[M]):
    """The transcriber's words, when they are a sentence of the grammar.

    `graph`: the grammar's words, with what else may be said while asking. `meaning`: sentence -> what it
    means. `second`: the phoneme recogniser of the same grammar. The sound must fit the sentence by its
    measure, and where it hears another meaning the margin is 0. Without it every sentence of the grammar is
    accepted with margin 0: nothing confirms it.
    """

    name = "vosk"

    def __init__(
        self,
        transcriber: Transcriber,
        graph: Callable[[Asking], WordGraph],
        *,
        meaning: Callable[[str], M | None],
        second: PhonemeRecogniser[M] | None = None,
    ) -> None:
        self._transcriber = transcriber
        self._second = second
        self._meaning = meaning
        self._graphs: Mapping[Asking, WordGraph] = {asking: graph(asking) for asking in Asking}

    def recognise(self, sound: Sound, *, asking: Asking = Asking.NOTHING) -> Recognition[M]:
        """Recognise one utterance."""
        words = self._transcriber.words(sound, asking=asking)
        text = " ".join(words)
        fits = accepts(self._graphs[asking], words)
        if self._second is not None:
            return self._with_second_opinion(self._second, text, fits, sound, asking=asking)
        best = Hypothesis(text, self._meaning(text) if fits else None, 0.0 if fits else math.inf)
        return Recognition(best, accepted=fits, margin=0.0)

    def _with_second_opinion(
        self, second: PhonemeRecogniser[M], text: str, fits: bool, sound: Sound, *, asking: Asking
    ) -> Recognition[M]:
        log_probs = second.network.log_probs(sound)
        other = second.decode(log_probs, asking=asking)
        means = second.meaning(text) if fits else None
        agreed = fits and (text == other.text or (means is not None and means == other.meaning))
        rivals = other.alternatives
        if other.text and not agreed:
            rivals = (replace(other.best, behind=0.0), *(one for one in rivals if one.text != text))
        cost = second.cost_of(text, log_probs) if fits else math.inf
        return Recognition(
            Hypothesis(text, means, cost),
            accepted=cost < second.limits.cost,
            margin=other.margin if agreed else 0.0,
            alternatives=rivals,
        )


def accepts(graph: WordGraph, words: Iterable[str]) -> bool:
    """Whether the words are a sentence of the graph."""
    step = {
        (source, word): target
        for source, word, target in zip(graph.source, graph.word, graph.target, strict=True)
    }
    state: int | None = 0
    for word in words:
        state = step.get((state, word)) if state is not None else None
    return state in graph.final


@functools.lru_cache(maxsize=1)
def _load(path: Path) -> Any:
    if not path.is_dir():
        raise ModelError(f"There is no Vosk model folder {path}; give the folder that holds am/ and conf/.")
    if not any((path / place).is_file() for place in ("am/final.mdl", "final.mdl")):
        raise ModelError(
            f"{path} is not a Vosk model (no am/final.mdl in it); give the folder that holds am/ and conf/."
        )
    try:
        import vosk
    except (ImportError, OSError) as error:
        raise ModelError(
            f"Vosk can't be loaded ({error}); install vosk 0.3.45 or use the phoneme recogniser."
        ) from None
    vosk.SetLogLevel(-1)
    try:
        return vosk.Model(str(path))
    except Exception:  # all that the library raises, without a reason
        raise ModelError(f"The Vosk model {path} can't be loaded; unpack it again.") from None
