"""A station at a microphone: everything that `crumbcall listen` runs, put together."""

import os
from collections.abc import Callable, Iterable
from contextlib import ExitStack
from dataclasses import dataclass, replace
from functools import partial
from queue import Queue

from assistant.app.adapters import open_microphone, real_clock, told_clock
from assistant.app.apart.recogniser_process import start_recogniser
from assistant.app.apart.sound_parts import Microphones, found_speaker, open_announcer
from assistant.app.application import Application
from assistant.app.fitted_parts import fit_parts
from assistant.app.group.membership import looking
from assistant.app.keeping.journal_keeping import CopyKeeper
from assistant.app.pages.wall_page import At, live_page
from assistant.app.scale_setup import FittedScale, fit_scale
from assistant.batch.record.commands import Command, Listening
from assistant.devices.machine_health import read_health
from assistant.errors import DeviceError
from assistant.hearing.gate import Gate
from assistant.hearing.health import HealthReports
from assistant.hearing.heard_counter import HeardCounter
from assistant.hearing.listeners import LiveHearing
from assistant.hearing.recogniser_apart import ANSWER_S, READY_S, RecogniserApart
from assistant.hearing.recognising import RecogniserThread
from assistant.journal.heard_counts import FOLDER as HEARD_FOLDER
from assistant.journal.held import HeldJournal
from assistant.ports import Asking, Clock
from assistant.station.alive.inbox import Inbox
from assistant.station.alive.machine_watch import MachineWatch
from assistant.station.alive.presence import Presence
from assistant.station.alive.vital_parts import ALIVE_S, Parts
from assistant.station.closing import ClosingTime
from assistant.station.fittings import Fittings, WhenAsked
from assistant.station.loop import Loop, TurnHandler
from assistant.station.messages import EARS, Heard, Lost, Message, Noticed, Pressed
from assistant.station.printing.print_worker import PrintWorker
from assistant.station.speaking import Announcer, RaisedVoice
from assistant.station.station import Station, Turn
from assistant.station.watchdog import Watchdog
from assistant.station.workers import Worker

STOP_S = 4.0
"""The workers are waited for at most this long (s)."""


def is_talk(turn: Turn, message: Message | None) -> bool:
    """Whether something was heard that means nothing here, and nothing is to be said to it."""
    return isinstance(message, Heard) and turn.command is None and not turn.replies


@dataclass(frozen=True, slots=True)
class LiveStation:
    """A station and everything around it; `run` starts the workers, and closes everything at the end."""

    station: Station
    journal: HeldJournal
    started: Turn
    """What it has to say at its start."""
    start: float
    """Station time (s) at which it was put together."""
    act_above: float
    """What is less sure (a probability) is asked about before it is acted on."""
    inbox: "Queue[Message]"
    fittings: Fittings
    printing: PrintWorker
    workers: tuple[Worker, ...]
    parts: Parts
    """What of it works."""
    closing: ExitStack
    """Ends every process and device of it."""
    watchdog: Watchdog
    announcer: Announcer | None
    """None: replies are only shown."""
    raised: RaisedVoice
    health: HealthReports
    presence: Presence
    counter: HeardCounter

    def run(self, show: TurnHandler) -> None:
        """Hear, decide and answer until stopped; `show` gets each turn that is not mere talk."""

        def on_turn(turn: Turn, message: Message | None) -> None:
            self.presence.follow(turn, message, self.station.state)
            if is_talk(turn, message):
                return
            self.fittings.follow(turn, message, self.station.state)
            show(turn, message)
            self._announce(turn)
            self.printing.follow(self.station.state)

        try:
            for worker in self.workers:
                worker.start()
            deaf = next((Lost(part, why) for part, why in self.parts.gone.items() if part in EARS), None)
            on_turn(self.started, deaf)
            self.watchdog.notify("READY=1")
            Loop(
                self.station,
                self.inbox,
                on_turn,
                act_above=self.act_above,
                left_alone=self.presence.left_alone,
                on_heard=self.counter.take,
            ).run()
        finally:
            self.watchdog.notify("STOPPING=1")
            try:
                end_in_order(self.workers, self.closing, self.station)
            finally:
                self.journal.close()

    def _announce(self, turn: Turn) -> None:
        if self.announcer is not None:
            state = self.station.state
            lift_db = self.raised.lift_db(self.health.noise_dbfs)
            self.announcer.adjust(state.loudness, state.pace, lift_db)
            self.announcer.say(turn.replies)


def end_in_order(workers: Iterable[Worker], closing: ExitStack, station: Station) -> None:
    """Ask the workers to end, end what they may wait for, and wait for all of them at most `STOP_S`."""
    workers = [*workers]
    for worker in workers:
        worker.ask_to_stop()
    closing.close()
    until = station.now + STOP_S
    for worker in workers:
        worker.stop(max(0.0, until - station.now))


def open_live_station(
    app: Application,
    *,
    device: str | None,
    scale: str | None,
    silent: bool,
    warn: Callable[[str], None],
    page: At | None = None,
) -> LiveStation:
    """Open everything that a live station needs; what is not there is found later, but for the recogniser.

    `device`: part of the microphone's name, None for that of the settings. `scale`: None for that of the
    settings. `warn` gets a line of each part that can't be used now. `page`: where to serve the page on the
    wall, None for none. Raises SoundError for a `device` that is not there.
    """
    settings, clock = app.settings, told_clock(real_clock(app.settings))
    inbox = Inbox()
    parts = Parts(inbox, clock.monotonic)
    if device is not None:
        open_microphone(settings, device).close()  # a wrong name is reported at once, not by a worker
    fitted = _fit_scale(app, scale, inbox, clock, warn, parts)
    adapter = None if fitted is None else fitted.adapter
    station, journal, started = app.open_station(clock, adapter, prints=True)
    with ExitStack() as if_it_fails, ExitStack() as closing:
        if_it_fails.callback(journal.close)
        app = app.listening_for(station.state.cook)
        if app.cook.problem:
            warn(app.cook.problem)
        recogniser = RecogniserApart[Command](
            lambda: start_recogniser(app, app.cook.name or None), parts, clock.monotonic
        )
        closing.callback(recogniser.close)
        speaker = None if silent or not settings.voice.on else found_speaker(app, parts, warn)
        announcer = None
        if speaker is not None:
            closing.callback(speaker.close)
            announcer, end_voice = open_announcer(app, speaker, parts, warn)
            closing.callback(end_voice)
        fittings = fit_parts(
            settings,
            inbox,
            now=clock.monotonic,
            warn=warn,
            asked=lambda: adapter is not None and adapter.asking is not Asking.NOTHING,
            parts=parts,
        )
        machine = MachineWatch(partial(read_health, app.home.data), parts)
        machine.look(starting=True)
        recogniser.wait_until_ready()
        recognising = RecogniserThread(
            recogniser, lambda: station.asking, within_s=READY_S + 2 * ANSWER_S, parts=parts
        )
        closing.callback(recognising.close)
        health, watchdog = HealthReports(), Watchdog()
        microphones = Microphones(lambda: open_microphone(settings, device), parts, warn)
        hearing = LiveHearing(
            lambda: WhenAsked(microphones.take(), fittings.hears),
            app.listener(recognising),
            Gate(tail_s=settings.voice.tail_s, headset=not settings.voice.half_duplex),
            inbox,
            now=clock.monotonic,
            busy=lambda: speaker is not None and speaker.busy,
            health=health,
            addressed=fittings.addressed,
            parts=parts,
        )
        closing.callback(microphones.close)
        closing.callback(hearing.close)
        counter = HeardCounter(app.home.data / HEARD_FOLDER, clock, lambda: health.noise_dbfs)
        heartbeat = app.heartbeat(clock)
        presence = Presence(
            heartbeat,
            busy=lambda: settings.voice.half_duplex and speaker is not None and speaker.busy,
            hears=fittings.hears,
            gone=lambda: parts.gone,
            failing=lambda: station.failing,
            practised=lambda: station.practised,
        )
        printing = PrintWorker(app.print_job(clock), inbox)
        workers = [
            Worker("printing", printing.run, inbox),
            Worker("microphone", hearing.capture, inbox),
            Worker("heartbeat", heartbeat.run, inbox),
            Worker("presence", presence.run, inbox),
            Worker("counts of hearing", counter.run, inbox),
            Worker("parts", parts.run, inbox),
            Worker("machine", machine.run, inbox),
            Worker("copies", _copies(app, inbox, warn).run, inbox),
            *_page(app, clock, station, presence, inbox, page, warn),
            *fittings.workers(),
            *_closing(app, clock, station, inbox),
            *_group(app, clock, inbox, warn),
            *([fitted.worker] if fitted is not None else []),
            *([Worker("speaker", speaker.run, inbox)] if speaker is not None else []),
            *([Worker("voice", announcer.run, inbox)] if announcer is not None else []),
            *watchdog.workers(inbox, lambda: parts.live),
        ]
        if_it_fails.pop_all()
        return LiveStation(
            station=station,
            journal=journal,
            started=_with_missing(station, started, parts),
            start=started.at,
            act_above=settings.recogniser.act_above,
            inbox=inbox,
            fittings=fittings,
            printing=printing,
            workers=tuple(workers),
            parts=parts,
            closing=closing.pop_all(),
            watchdog=watchdog,
            announcer=announcer,
            raised=RaisedVoice(settings.voice.noise_lift_db),
            health=health,
            presence=presence,
            counter=counter,
        )


def _with_missing(station: Station, started: Turn, parts: Parts) -> Turn:
    """What the station says at its start, and one sentence of what is missing, if anything is."""
    if not parts.gone:
        return started
    missing = station.announce("parts_missing", parts=",".join(sorted(parts.gone)))
    return replace(started, replies=(*started.replies, *missing.replies))


def _page(
    app: Application,
    clock: Clock,
    station: Station,
    presence: Presence,
    inbox: "Queue[Message]",
    page: At | None,
    warn: Callable[[str], None],
) -> list[Worker]:
    """The worker that serves the page on the wall, where it is asked for."""
    if page is None:
        return []
    server, feed = live_page(app, clock, station, presence, inbox, page)
    presence.on_change(feed.changed)
    warn(f"The page on the wall is at {server.address}")
    return [Worker("page", server.run, inbox)]


def _fit_scale(
    app: Application,
    scale: str | None,
    inbox: "Queue[Message]",
    clock: Clock,
    warn: Callable[[str], None],
    parts: Parts | None = None,
) -> FittedScale | None:
    """The jug scale; where that of the settings can't be used, one clear line, and the voice is enough."""
    try:
        followed = parts or Parts(inbox, clock.monotonic)
        alive = partial(followed.due, "jug scale", ALIVE_S)
        fitted = fit_scale(app.home, app.settings.scale, scale, inbox, clock, alive)
    except DeviceError as error:
        if scale is not None:
            raise
        warn(f"No jug scale: {error}")
        return None
    if fitted is not None and not fitted.adapter.scale.calibrated:
        warn("The jug scale is not calibrated: say set the scale.")
    return fitted


def _group(
    app: Application, clock: Clock, inbox: "Queue[Message]", warn: Callable[[str], None]
) -> list[Worker]:
    """The worker that looks at the group's server, where the settings name one.

    Not under systemd: there this process has no network, and crumbcall-sync.service looks.
    """
    if not app.settings.sync.server or os.environ.get("NOTIFY_SOCKET"):
        return []
    return [Worker("group", looking(app.home, app.settings, clock, warn).run, inbox)]


def _copies(app: Application, inbox: "Queue[Message]", warn: Callable[[str], None]) -> CopyKeeper:
    """What keeps the daily copies; what fails there is said too."""
    return CopyKeeper.of(
        app.home,
        app.settings.station.copies_to,
        warn,
        lambda key: inbox.put(Noticed(key, tone="ring_firm")),
    )


def _closing(app: Application, clock: Clock, station: Station, inbox: "Queue[Message]") -> list[Worker]:
    """The worker that stops listening at closing time, where the kitchen has one."""
    closes = app.settings.station.closes
    if not closes:
        return []
    closing = ClosingTime(
        clock,
        closes,
        busy=lambda: station.state.batch is not None or not station.state.listening,
        close=lambda: inbox.put(Pressed(Listening(on=False))),
    )
    return [Worker("closing time", closing.run, inbox)]
