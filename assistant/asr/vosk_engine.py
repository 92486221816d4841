"""Recogniser on any Vosk model folder, restricted to the grammar, with the phoneme network's second opinion.

Vosk finds the words; it does not say when nobody spoke to it (measured: an unrelated sentence came back as
words of the grammar with confidence up to 1.0). So a sentence must be one of the grammar, and where there is
a second opinion the sound must fit it.
"""

import json
import logging
import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Generic, Protocol

from assistant.asr import phoneme
from assistant.asr.confidence import ACCEPTED, NEAR
from assistant.asr.parts import Parts
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.errors import GrammarError, ModelError
from assistant.ports import (
    SPEECH_RATE,
    Asking,
    Hypothesis,
    M,
    Recognition,
    Sound,
    Wanted,
    WordGraph,
    always,
)

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
    transcriber = VoskTranscriber(
        parts.model_path, lambda asking: set().union(*(parts.layer(layer).words for layer in asking.layers))
    )
    return VoskRecogniser(transcriber, parts.layer, meaning=second.meaning, second=second)


UNCONFIRMED = 0.7
"""How sure a sentence is that nothing confirms: enough to be asked about, never to be acted on."""
DISAGREED_COST = 1.2
"""Cost up to which a sentence that the phoneme recogniser would not choose is asked about."""


class Transcriber(Protocol):
    """Sound to words, without judgement."""

    def words(self, sound: Sound, *, asking: Asking) -> tuple[str, ...]:
        """Words of an utterance; may hold `[unk]`."""


class VoskTranscriber:
    """A Vosk model restricted to the words that may be said.

    `model_path`: folder of a model. `words`: what is asked -> the words that may be said then. For each list
    of words the engine builds a recogniser of its own, which takes memory: that of the commands is kept, the
    others are built when something is asked, and the last `KEPT` of them are.
    `unknown_words`: words that the model does not know and so can't hear.
    Raises ModelError when the model can't be used, GrammarError when it knows none of the commands' words.
    """

    KEPT = 2

    def __init__(self, model_path: Path, words: Callable[[Asking], Iterable[str]]) -> None:
        self._vocabulary = {asking: frozenset(words(asking)) for asking in Asking}
        self._model = _load(model_path)
        self._model_path = model_path
        every = frozenset[str]().union(*self._vocabulary.values())
        self.unknown_words = tuple(sorted(word for word in every if not self._knows(word)))
        if self.unknown_words:
            unknown = ", ".join(self.unknown_words)
            _log.warning("The Vosk model %s does not know, so can't hear: %s.", model_path, unknown)
        self._commands = self._hearer(self._vocabulary[Asking.NOTHING])
        self._asked = lru_cache(maxsize=self.KEPT)(self._hearer)

    def words(self, sound: Sound, *, asking: Asking) -> tuple[str, ...]:
        """Words of all results: the engine may end an utterance by itself and start the next."""
        if sound.rate != SPEECH_RATE:
            raise ValueError(f"sound at {sound.rate} Hz; the model hears {SPEECH_RATE} Hz")
        known = self._vocabulary[asking]
        hearer = self._commands if asking is Asking.NOTHING else self._asked(known)
        hearer.Reset()
        blocks = (sound.pcm[start : start + _BLOCK] for start in range(0, len(sound.pcm), _BLOCK))
        results = [hearer.Result() for block in blocks if hearer.AcceptWaveform(block.tobytes())]
        results.append(hearer.FinalResult())
        return tuple(" ".join(json.loads(result)["text"] for result in results).split())

    def _knows(self, word: str) -> bool:
        return bool(self._model.vosk_model_find_word(word) >= 0)

    def _hearer(self, words: frozenset[str]) -> Any:
        """An empty or broken list of words ends the whole process inside the engine: never hand it one."""
        import vosk

        known = sorted(word for word in words if self._knows(word))
        if not known:
            raise GrammarError(
                f"The Vosk model {self._model_path} knows no word of the grammar; "
                "use a model of the grammar's language."
            )
        if self._knows(_UNKNOWN):
            known.append(_UNKNOWN)
        return vosk.KaldiRecognizer(self._model, SPEECH_RATE, json.dumps(known, ensure_ascii=False))


class VoskRecogniser(Generic[M]):
    """The transcriber's words, when they are a sentence of the grammar.

    `layer`: the sentences that one layer of what may be said adds. `meaning`: sentence, and what is asked ->
    what it means. `second`: the phoneme recogniser of the same grammar. The sound must fit the sentence by
    its measure, and where it hears another meaning the margin is 0. Without it every sentence of the grammar
    is accepted with margin 0: nothing confirms it.
    """

    name = "vosk"

    def __init__(
        self,
        transcriber: Transcriber,
        layer: Callable[[Asking], WordGraph],
        *,
        meaning: Callable[[str, Asking], M | None],
        second: PhonemeRecogniser[M] | None = None,
    ) -> None:
        self._transcriber = transcriber
        self._second = second
        self._meaning = meaning
        self._layer: Callable[[Asking], Acceptor] = cache(lambda asking: Acceptor(layer(asking)))
        self._layer(Asking.NOTHING)

    def recognise(
        self, sound: Sound, *, asking: Asking = Asking.NOTHING, wanted: Wanted = always
    ) -> Recognition[M]:
        """Recognise one utterance."""
        words = self._transcriber.words(sound, asking=asking)
        text = " ".join(words)
        fits = any(self._layer(layer).accepts(words, asking) for layer in asking.layers)
        if self._second is not None:
            return self._with_second_opinion(self._second, text, fits, sound, asking=asking, wanted=wanted)
        best = Hypothesis(text, self._meaning(text, asking) if fits else None, 0.0 if fits else math.inf)
        return Recognition(best, accepted=fits, margin=0.0, asking=asking, sure=UNCONFIRMED if fits else 0.0)

    def _with_second_opinion(
        self,
        second: PhonemeRecogniser[M],
        text: str,
        fits: bool,
        sound: Sound,
        *,
        asking: Asking,
        wanted: Wanted,
    ) -> Recognition[M]:
        outputs = second.outputs(sound, wanted=wanted)
        other = second.decode(outputs, asking=asking, wanted=wanted)
        means = second.meaning(text, asking) if fits else None
        agreed = fits and (text == other.text or (means is not None and means == other.meaning))
        rivals = other.alternatives
        if other.text and not agreed:
            rivals = (replace(other.best, behind=0.0), *(one for one in rivals if one.text != text))
        cost = second.cost_of(text, outputs) if fits else math.inf
        # Two that disagree are never sure; what the sound does not fit either is not what was said.
        sure = other.sure if agreed else UNCONFIRMED if cost < DISAGREED_COST else 0.0
        return Recognition(
            Hypothesis(text, means, cost),
            accepted=sure >= ACCEPTED,
            margin=other.margin if agreed else 0.0,
            alternatives=rivals,
            near=NEAR <= sure < ACCEPTED,
            sure=sure,
            asking=asking,
        )


class Acceptor:
    """Tells whether words are a sentence of a graph."""

    def __init__(self, graph: WordGraph) -> None:
        self._graph = graph
        self._step = {
            (source, word): target
            for source, word, target in zip(graph.source, graph.word, graph.target, strict=True)
        }

    def accepts(self, words: Iterable[str], asking: Asking) -> bool:
        """Whether they are a sentence of it while `asking`."""
        state: int | None = self._graph.start(asking)
        for word in words:
            state = self._step.get((state, word)) if state is not None else None
        return state in self._graph.final


@lru_cache(maxsize=1)
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
