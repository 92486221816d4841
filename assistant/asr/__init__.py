"""Recognisers behind one port: `phoneme`, which needs no download, and `vosk`, which takes any Vosk model."""

from collections.abc import Callable, Hashable
from pathlib import Path

from assistant.asr.lexicon import Lexicon, Pronunciations
from assistant.asr.network import Weights
from assistant.errors import ModelError, SettingsError
from assistant.ports import Asking, Recogniser, WordGraph

ENGINES = ("phoneme", "vosk")
"""Names of the recognisers, the default first."""
FULL_PHONES = 8
"""Phones from which a sentence may cost `max_cost`, with weights that were taught the kitchen's words."""
NEAR = 5 / 3
"""Share of `max_cost` up to which a sentence that nothing else comes near may be asked about, with these weights."""


def build_recogniser(
    engine: str,
    graph: Callable[[Asking], WordGraph],
    pronunciations: Callable[[Path | None], Pronunciations],
    *,
    meaning: Callable[[str], Hashable] = str,
    model_path: Path | None = None,
    ear: Weights = "kitchen",
    max_cost: float = 0.6,
) -> Recogniser:
    """Make a recogniser ready to hear.

    `graph(asking)`: the grammar's words, with what else may be said while `asking`. `pronunciations`: reads the
    kitchen's pronunciations, and the file of words that the weights in use were fine-tuned on. `meaning`: sentence -> what it means, for the margin. `model_path`: folder of a Vosk
    model, or other weights (.hama) of the phoneme network. `ear`: which of the weights that ship. `max_cost`: what
    is above is not accepted; 0.6 is measured for "kitchen", "packaged" wants 1.4.
    Raises SettingsError for an unknown engine, ModelError or GrammarError when it can't be built.
    """
    if engine not in ENGINES:
        raise SettingsError(f'Unknown recogniser "{engine}"; use "phoneme" or "vosk".')
    from assistant.asr.network import PhonemeNetwork
    from assistant.asr.phoneme import Limits, PhonemeRecogniser

    network = PhonemeNetwork(model_path if engine == "phoneme" else None, ear=ear)
    phoneme = PhonemeRecogniser(
        network,
        Lexicon(pronunciations(network.words), network.symbols),
        graph(False),
        graph(True),
        graph("weight"),
        meaning=meaning,
        limits=Limits(max_cost)
        if network.words is None
        else Limits(max_cost, full_phones=FULL_PHONES, near=NEAR),
    )
    if engine == "phoneme":
        return phoneme
    if model_path is None:
        raise ModelError(
            "The vosk recogniser needs a model; fetch one with `crumbcall model get` or use the phoneme recogniser."
        )
    from assistant.asr.vosk_engine import VoskEar, VoskRecogniser

    vosk = VoskEar(model_path, graph(False).words, graph(True).words)
    return VoskRecogniser(vosk, graph(False), graph(True), graph("weight"), second=phoneme)
