"""A station that hears a recording, with recorded samples of the jug scale: `crumbcall listen --from`."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from queue import Queue

from assistant.app.adapters import scripted_clock
from assistant.app.application import Application
from assistant.app.scale_setup import calibration_keeper, calibration_of, recorded_scale
from assistant.audio.files import sound_blocks
from assistant.clock import ScriptedClock
from assistant.devices.scale.jug_scale import Replayed
from assistant.hearing.early_decision import PatientListener
from assistant.hearing.listeners import RecordedHearing, in_blocks
from assistant.hearing.recognising import at_once
from assistant.journal.held import HeldJournal
from assistant.ports import Pcm
from assistant.station.loop import Loop, TurnHandler
from assistant.station.messages import Message
from assistant.station.scale_adapter import ScaleAdapter
from assistant.station.station import Station, Turn


@dataclass(frozen=True, slots=True)
class ReplayedStation:
    """A station whose clock follows a recording; `run` hears it to its end and closes the journal."""

    station: Station
    journal: HeldJournal
    started: Turn
    """What it has to say at its start."""
    start: float
    """Station time (s) at which the recording begins."""
    act_above: float
    """What is less sure (a probability) is asked about before it is acted on."""
    inbox: "Queue[Message]"
    clock: ScriptedClock
    listener: PatientListener
    scale: Replayed | None
    """Recorded samples; None without a scale."""
    blocks: Iterable[Pcm]

    def run(self, show: TurnHandler) -> None:
        """Hear the recording at full speed; `show` gets each turn."""
        try:
            if any(reply.key != "ready" for reply in self.started.replies):
                show(self.started, None)
            loop = Loop(self.station, self.inbox, show, act_above=self.act_above)
            devices = (lambda _: None) if self.scale is None else self.scale.upto
            hearing = RecordedHearing(loop, self.inbox, self.clock, self.listener, devices=devices)
            in_blocks(self.blocks, hearing)
        finally:
            self.journal.close()


def open_replayed_station(app: Application, recording: Path, scale: str | None) -> ReplayedStation:
    """A station for a recording; `scale`: None or replay:FILE.

    Raises SoundError, DeviceError or JournalError.
    """
    samples = recorded_scale(scale)
    clock, inbox = scripted_clock(), Queue[Message]()
    keep = calibration_keeper(app.home.scale_file, clock)
    adapter = None if samples is None else ScaleAdapter(calibration_of(app.home, samples), inbox, keep)
    blocks = sound_blocks(recording)
    first = next(blocks)  # a recording that can't be read leaves no journal
    recogniser = app.recogniser()
    station, journal, started = app.open_station(clock, adapter)
    return ReplayedStation(
        station=station,
        journal=journal,
        started=started,
        start=station.now,
        act_above=app.settings.recogniser.act_above,
        inbox=inbox,
        clock=clock,
        listener=app.listener(at_once(recogniser, lambda: station.asking)),
        scale=None if adapter is None or samples is None else Replayed(adapter.scale, samples, station.now),
        blocks=chain([first], blocks),
    )
