"""The budgets of a station, measured on the machine that it runs on: real parts, no microphone."""

import platform
import resource
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path
from queue import Queue
from statistics import median

import msgspec
import numpy as np

from assistant.app.adapters import real_clock
from assistant.app.application import Application
from assistant.app.pi_model import ACOUSTIC_MS, BOARDS, Answer, arithmetic, interpreting, slower
from assistant.asr.network import Listening
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.audio.motor import motor
from assistant.audio.resample import resample
from assistant.batch.decide.decide import Said, decide
from assistant.batch.record import events as ev
from assistant.batch.record.commands import Command, NewBatch
from assistant.config.home import Home
from assistant.dough.amounts import Amount
from assistant.hearing.early_decision import Spoken
from assistant.hearing.recognising import at_once
from assistant.journal.store import SqliteJournal
from assistant.ports import SPEECH_RATE, Pcm, Recogniser, Recognition, Sound, Utterance, Voice
from assistant.station.loop import Loop
from assistant.station.messages import Message, Stop
from assistant.station.speaking import first_and_rest
from assistant.station.station import Station, Turn

NETWORKS: dict[Listening, str] = {
    "both": "both networks",
    "kitchen": "the fine-tuned network alone",
    "packaged": "the packaged network alone",
}
COMMANDS = (
    "new batch eighteen fifty",
    "water three hundred",
    "how much left",
    "water one twenty",
    "make that one ten",
    "mixer on",
    "crumb dry",
    "water one sixty",
    "undo",
    "poured the rest",
    "mix one minute",
    "crumb ready",
    "hydration",
    "where are we",
    "what next",
    "extruding",
    "scrap twenty five",
    "tray done",
    "portions twenty two",
    "close batch",
)
"""A batch's worth of complete commands."""

PI = "aarch64"
"""A machine of this kind is measured, not estimated."""
QUIET_BEFORE_S = 1.0
COMMITS = 300
QUIET_S = 20.0


@dataclass(frozen=True, slots=True)
class Figure:
    """One budget, and what was measured."""

    what: str
    """What is measured."""
    value: float
    unit: str
    """Of `value` and `budget`."""
    budget: float
    """Most that it may be."""

    @property
    def met(self) -> bool:
        """Whether the budget holds."""
        return self.value <= self.budget


def _start(
    build: Callable[[Path], Application], kept: Path, folder: Path
) -> tuple[float, Application, Recogniser[Command]]:
    """Seconds that all takes that is made before the station listens, and what they made."""
    begin = time.perf_counter()
    app = build(kept)
    recogniser = app.recogniser()
    app.endpointer()
    SqliteJournal.open(folder / "start.sqlite", real_clock()).close()
    return time.perf_counter() - begin, app, recogniser


def _first_start(build: Callable[[Path], Application], kept: Path, folder: Path) -> float:
    return _start(build, kept, folder)[0]


def measure(build: Callable[[Path], Application], folder: Path, *, events: int) -> Iterator[Figure]:
    """Measure all budgets; `folder` holds the journals made here.

    `build` reads settings and grammar, and keeps what it makes of these in the folder that it is given.
    """
    kept = folder / "kept"
    with ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn")) as child:
        # In a process of its own: what it needs for making these is no memory of the station.
        seconds = child.submit(_first_start, build, kept, folder).result()
    yield Figure("first start of listen to listening", seconds, "s", 6.0)
    seconds, app, recogniser = _start(build, kept, folder)
    yield Figure("start of listen to listening", seconds, "s", 3.0)

    voice = app.voice()
    spoken = [_spoken(voice, text) for text in COMMANDS]
    answers = _answers(app, recogniser, voice, spoken, folder)
    waits = [answer.seconds for answer in answers]
    trailing = [answer.trailing for answer in answers]
    from_sound = [wait + quiet for wait, quiet in zip(waits, trailing, strict=True)]
    yield Figure("end of speech to first sound, median", median(waits) * 1000, "ms", 450.0)
    yield Figure("end of speech to first sound, 95 %", _quantile(waits, 0.95) * 1000, "ms", 800.0)
    yield Figure("acoustic end to first sound, median", median(from_sound) * 1000, "ms", 450.0 + ACOUSTIC_MS)
    if isinstance(recogniser, PhonemeRecogniser) and platform.machine() != PI:
        yield from _on_boards(answers)
    yield Figure("memory at most", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, "MB", 200.0)
    for weights, name in NETWORKS.items():
        settings = msgspec.structs.replace(
            app.settings, recogniser=msgspec.structs.replace(app.settings.recogniser, weights=weights)
        )
        heard_by = replace(app, settings=settings).recogniser()
        yield Figure(f"{name}, CPU per second of sound", _recogniser_cpu(heard_by, spoken), "s", 0.03)
    yield Figure("quiet room, share of a core", _quiet_cpu(app) * 100, "%", 3.0)
    yield Figure("timer late while hearing, worst of 6", _late(app, recogniser, spoken, folder), "s", 0.2)
    yield Figure("journal commit, 99 %", _commits(folder) * 1000, "ms", 15.0)
    yield Figure(f"resume with {events:,} events", _resume(app, folder, events), "s", 1.0)


def _spoken(voice: Voice, text: str) -> Sound:
    """A command at 16 kHz."""
    return resample(voice.speak(text), SPEECH_RATE)


def _answers(
    app: Application, recogniser: Recogniser[Command], voice: Voice, spoken: list[Sound], folder: Path
) -> list[Answer]:
    """How each command is answered, in its parts."""
    station, journal, _ = replace(app, home=Home.find(folder / "answers")).open_station(real_clock())
    answers = [answered(app, station, recogniser, voice, sound) for sound in spoken]
    journal.close()
    return answers


def answered(
    app: Application, station: Station, recogniser: Recogniser[Command], voice: Voice, sound: Sound
) -> Answer:
    """Wait, recognise, decide, commit, make sound: what each takes."""
    took = work = 0.0

    def recognise(utterance: Utterance) -> "Future[Recognition[Command]]":
        nonlocal took, work
        begin, at_work = time.perf_counter(), time.process_time()
        found = at_once(recogniser, lambda: station.asking)(utterance)
        took, work = time.perf_counter() - begin, time.process_time() - at_work
        return found

    listener = app.listener(recognise)
    spoken: list[Spoken] = []
    for block in _with_quiet(sound):
        spoken = listener.feed(block)
        if spoken:
            break
    [over] = spoken or listener.flush()
    waited = listener.endpointer.heard_s - over.utterance.end
    begin, at_work = time.perf_counter(), time.process_time()
    turn = station.recognised(over.recognition.result(), unsure=False)
    if turn.replies and turn.replies[0].tone is None:
        voice.speak(first_and_rest(turn.replies[0].text)[0])  # where there is a tone, it is the first sound
    after, deciding = time.perf_counter() - begin, time.process_time() - at_work
    network = 0.0
    if isinstance(recogniser, PhonemeRecogniser):
        at_work = time.process_time()
        recogniser.outputs(over.utterance.sound)
        network = min(work, time.process_time() - at_work)
    return Answer(
        waited=waited,
        # An early recognition begins when the quiet is `closed_silence_s` long, and runs while we wait.
        looked=min(waited, app.settings.microphone.closed_silence_s),
        recognised=took,
        after=after,
        network=network,
        search=work - network,
        deciding=deciding,
        trailing=over.utterance.end - acoustic_end(sound),
    )


def acoustic_end(sound: Sound) -> float:
    """When the voice in the sound between quiet stretches falls for good 40 dB below its loudest (s)."""
    loud = np.flatnonzero(np.abs(sound.pcm.astype(np.int32)) * 100 > np.abs(sound.pcm.astype(np.int32)).max())
    return QUIET_BEFORE_S + (int(loud[-1]) + 1 if len(loud) else 0) / sound.rate


def _on_boards(answers: list[Answer]) -> Iterator[Figure]:
    """The answers on boards that are not here."""
    here = _least(arithmetic), _least(interpreting)
    for board in BOARDS:
        times = slower(board, *here)
        waits = [answer.seconds_where(*times) for answer in answers]
        heard = [wait + answer.trailing for wait, answer in zip(waits, answers, strict=True)]
        name = f"{board.name}, estimated:"
        yield Figure(f"{name} end of speech to first sound", median(waits) * 1000, "ms", board.budget_ms)
        most = board.budget_ms + ACOUSTIC_MS
        yield Figure(f"{name} acoustic end to first sound", median(heard) * 1000, "ms", most)


def _least(work: Callable[[], object]) -> float:
    """The processor's least time (s) of some runs: the one that was disturbed least."""
    took = []
    for _ in range(7):
        begin = time.process_time()
        work()
        took.append(time.process_time() - begin)
    return min(took)


def _with_quiet(sound: Sound) -> Iterator[Pcm]:
    """The sound between quiet stretches with a motor far away, in blocks of 32 ms."""
    quiet = np.zeros(round(QUIET_BEFORE_S * SPEECH_RATE), np.int16)
    whole = np.concatenate([quiet, sound.pcm, quiet, quiet])
    noise = motor(len(whole), level_dbfs=-50.0, seed=3)
    mixed = np.clip(whole.astype(np.int32) + noise, -32768, 32767).astype(np.int16)
    return (mixed[start : start + 512] for start in range(0, len(mixed), 512))


def _recogniser_cpu(recogniser: Recogniser[Command], spoken: list[Sound]) -> float:
    begin = time.process_time()
    for sound in spoken:
        recogniser.recognise(sound)
    return (time.process_time() - begin) / sum(sound.seconds for sound in spoken)


def _quiet_cpu(app: Application) -> float:
    endpointer = app.endpointer()
    noise = motor(round(QUIET_S * SPEECH_RATE), level_dbfs=-45.0, seed=5)
    begin = time.process_time()
    for start in range(0, len(noise), 512):
        endpointer.feed(noise[start : start + 512])
    return (time.process_time() - begin) / QUIET_S


def _late(app: Application, recogniser: Recogniser[Command], spoken: list[Sound], folder: Path) -> float:
    """Worst lateness (s) of six timers a second apart, while another thread recognises without a pause."""
    clock = real_clock()
    station, journal, _ = replace(app, home=Home.find(folder / "timers")).open_station(clock)
    for number in range(1, 7):
        station.hear(f"timer {number} {number} seconds", source="keyboard")
    due = {timer.name: timer.due for timer in station.state.timers}
    inbox: Queue[Message] = Queue()
    late: dict[str, float] = {}

    def note(_turn: Turn, _message: Message | None) -> None:
        for timer in station.state.ringing:
            late.setdefault(timer.name, clock.monotonic() - due[timer.name])
        if len(late) == len(due):
            inbox.put(Stop())

    over = threading.Event()

    def hear_on() -> None:
        while not over.is_set():
            for sound in spoken:
                recogniser.recognise(sound)

    hearing = threading.Thread(target=hear_on)
    hearing.start()
    Loop(station, inbox, note).run()
    over.set()
    hearing.join()
    journal.close()
    return max(late.values())


def _commits(folder: Path) -> float:
    journal = SqliteJournal.open(folder / "commits.sqlite", real_clock())
    took = []
    for number in range(COMMITS):
        begin = time.perf_counter()
        journal.append([ev.LotNamed(at=float(number), lot=str(number))])
        took.append(time.perf_counter() - begin)
    journal.close()
    return _quantile(took, 0.99)


def _resume(app: Application, folder: Path, events: int) -> float:
    """Seconds to open a journal of this many events, written in larger decisions than a station's."""
    path = folder / "large.sqlite"
    journal = SqliteJournal.open(path, real_clock())
    state, _ = journal.load()
    opened = decide(state, Said(NewBatch(Amount(1850.0))), 0.0, app.rules).events
    journal.append(opened)
    written = len(opened)
    while written < events:
        chunk = [ev.LotNamed(at=float(written + n), lot=str(n)) for n in range(min(5000, events - written))]
        journal.append(chunk)
        written += len(chunk)
    journal.close()
    begin = time.perf_counter()
    again = SqliteJournal.open(path, real_clock())
    again.load()
    took = time.perf_counter() - begin
    again.close()
    return took


def _quantile(values: list[float], share: float) -> float:
    return float(np.quantile(values, share))
