"""A rehearsal put together: a station in an empty folder, a synthetic cook, a speaker that records."""

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from queue import Queue

from assistant.app.adapters import recording_speaker, scripted_clock, tones, voice
from assistant.app.application import Application
from assistant.app.rehearsal import Rehearsal, Report
from assistant.audio.recorder import FileSpeaker
from assistant.batch.record.events import Event
from assistant.batch.record.evolving.evolve import replay
from assistant.batch.record.state import State
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.config.language.scene import Scene
from assistant.hearing.gate import Gate
from assistant.hearing.listeners import RecordedHearing
from assistant.hearing.recognising import at_once
from assistant.ports import Stamp
from assistant.station.loop import Loop, TurnHandler
from assistant.station.messages import Heard, Message
from assistant.station.speaking import Announcer
from assistant.station.station import Turn


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """What a rehearsal leaves."""

    report: Report
    lines: Sequence[tuple[Stamp, Event]]
    """Its journal, oldest first."""
    state: State
    """The station's state at its end."""
    speaker: FileSpeaker
    """Holds the sound of the conversation."""

    @property
    def replayed(self) -> bool:
        """Whether the journal leads to the station's state."""
        return replay(event for _, event in self.lines) == self.state


def rehearse(
    app: Application,
    scene: Scene,
    folder: Path,
    *,
    speed: float,
    show: Callable[[Turn, Heard | None, str | None, float], None],
    clock: ScriptedClock | None = None,
) -> Rehearsed:
    """Play a scene with a journal in `folder`.

    `clock`: that of the scene, None for one that begins now. `speed`: 1 at the pace of the clock, 0 at once.
    `show` gets each turn, what was heard, what was really said, and the station time (s) at the beginning.
    """
    clock, inbox = clock or scripted_clock(trusted=True), Queue[Message]()
    station, journal, _ = replace(app, home=Home.find(folder)).open_station(clock)
    start, settings = station.now, app.settings
    speaker = recording_speaker(clock)

    def hearing(on_turn: TurnHandler) -> RecordedHearing:
        return RecordedHearing(
            Loop(station, inbox, on_turn, act_above=settings.recogniser.act_above),
            inbox,
            clock,
            app.listener(at_once(app.recogniser(), lambda: station.asking)),
            gate=Gate(tail_s=settings.voice.tail_s),
            busy=lambda: speaker.busy,
        )

    pause = threading.Event()

    def pace(seconds: float) -> None:
        if speed > 0:
            pause.wait(seconds / speed)

    rehearsal = Rehearsal(
        station,
        clock,
        app.grammar,
        cook=voice(scene.cook, scene.rate),
        speaker=speaker,
        announcer=Announcer(app.voice(), speaker, tones()),
        hearing=hearing,
        show=lambda turn, heard, said: show(turn, heard, said, start),
        pace=pace,
    )
    try:
        report = rehearsal.play(scene)
        return Rehearsed(report, list(journal.read()), station.state, speaker)
    finally:
        journal.close()
