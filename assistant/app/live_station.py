"""A station at a microphone: everything that `crumbcall listen` runs, put together."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from queue import Queue

from assistant.app.adapters import open_microphone, open_sound_card, real_clock, tones
from assistant.app.application import Application
from assistant.app.fitted_parts import fit_parts
from assistant.app.scale_setup import FittedScale, fit_scale
from assistant.app.wall_page import At, live_page
from assistant.audio.owner import SoundOwner
from assistant.batch.record.commands import Listening
from assistant.errors import DeviceError, SoundError, VoiceError
from assistant.hearing.gate import Gate
from assistant.hearing.health import HealthReports
from assistant.hearing.heard_counter import HeardCounter
from assistant.hearing.listeners import LiveHearing, in_pool
from assistant.journal.heard_counts import FOLDER as HEARD_FOLDER
from assistant.journal.held import HeldJournal
from assistant.ports import Asking, Clock, Microphone
from assistant.station.alive.presence import Presence
from assistant.station.closing import ClosingTime
from assistant.station.fittings import Fittings, WhenAsked
from assistant.station.loop import Loop, TurnHandler
from assistant.station.messages import Heard, Message, Pressed
from assistant.station.printing.print_worker import PrintWorker
from assistant.station.speaking import Announcer, RaisedVoice
from assistant.station.station import Station, Turn
from assistant.station.told_clock import ToldClock
from assistant.station.watchdog import Watchdog
from assistant.station.workers import Worker


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
    recognising: ThreadPoolExecutor
    """The thread of the recogniser."""
    watchdog: Watchdog
    announcer: Announcer | None
    """None: replies are only shown."""
    owner: SoundOwner | None
    """None: no speaker is open."""
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

        for worker in self.workers:
            worker.start()
        try:
            on_turn(self.started, None)
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
            for worker in self.workers:
                worker.stop()
            self.recognising.shutdown(cancel_futures=True)
            if self.owner is not None:
                self.owner.close()
            self.journal.close()

    def _announce(self, turn: Turn) -> None:
        if self.announcer is not None:
            state = self.station.state
            lift_db = self.raised.lift_db(self.health.noise_dbfs)
            self.announcer.adjust(state.loudness, state.pace, lift_db)
            self.announcer.say(turn.replies)


def open_live_station(
    app: Application,
    *,
    device: str | None,
    scale: str | None,
    silent: bool,
    warn: Callable[[str], None],
    page: At | None = None,
) -> LiveStation:
    """Open everything that a live station needs.

    `device`: part of the microphone's name, None for that of the settings. `scale`: None for that of the
    settings. `warn` gets a line of each part that can't be used and is not needed. `page`: where to serve the
    page on the wall, None for none. Raises SoundError without a microphone.
    """
    settings, clock = app.settings, ToldClock(real_clock(app.settings))
    inbox: Queue[Message] = Queue()

    def bare_microphone() -> Microphone:
        return open_microphone(settings, device)

    bare_microphone().close()  # a wrong name is reported at once, not by a worker
    announcer, owner = _open_announcer(app, bare_microphone, silent=silent, warn=warn)
    fitted = _fit_scale(app, scale, inbox, clock, warn)
    adapter = None if fitted is None else fitted.adapter
    fittings = fit_parts(
        settings,
        inbox,
        now=clock.monotonic,
        warn=warn,
        asked=lambda: adapter is not None and adapter.asking is not Asking.NOTHING,
    )
    station, journal, started = app.open_station(clock, adapter, prints=True)
    app = app.listening_for(station.state.cook)
    if app.cook.problem:
        warn(app.cook.problem)
    recogniser = app.recogniser()
    pool, health, watchdog = ThreadPoolExecutor(1, "recogniser"), HealthReports(), Watchdog()
    hearing = LiveHearing(
        lambda: WhenAsked(bare_microphone() if owner is None else owner.open_microphone(), fittings.hears),
        app.listener(in_pool(recogniser, lambda: station.asking, pool)),
        Gate(tail_s=settings.voice.tail_s, headset=not settings.voice.half_duplex),
        inbox,
        now=clock.monotonic,
        busy=lambda: owner is not None and owner.busy,
        health=health,
        addressed=fittings.addressed,
    )
    counter = HeardCounter(app.home.data / HEARD_FOLDER, clock, lambda: health.noise_dbfs)
    heartbeat = app.heartbeat(clock)
    presence = Presence(
        heartbeat,
        busy=lambda: settings.voice.half_duplex and owner is not None and owner.busy,
        hears=fittings.hears,
    )
    printing = PrintWorker(app.print_job(clock), inbox)
    workers = [
        Worker("printing", printing.run, inbox),
        Worker("microphone", hearing.capture, inbox),
        Worker("heartbeat", heartbeat.run, inbox),
        Worker("presence", presence.run, inbox),
        Worker("counts of hearing", counter.run, inbox),
        *_page(app, clock, station, presence, inbox, page, warn),
        *fittings.workers(),
        *_closing(app, clock, station, inbox),
        *([fitted.worker] if fitted is not None else []),
        *([Worker("voice", announcer.run, inbox)] if announcer is not None else []),
        *watchdog.workers(inbox),
    ]
    return LiveStation(
        station=station,
        journal=journal,
        started=started,
        start=station.now,
        act_above=settings.recogniser.act_above,
        inbox=inbox,
        fittings=fittings,
        printing=printing,
        workers=tuple(workers),
        recognising=pool,
        watchdog=watchdog,
        announcer=announcer,
        owner=owner,
        raised=RaisedVoice(settings.voice.noise_lift_db),
        health=health,
        presence=presence,
        counter=counter,
    )


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
) -> FittedScale | None:
    """The jug scale; where that of the settings can't be used, one clear line, and the voice is enough."""
    try:
        fitted = fit_scale(app.home, app.settings.scale, scale, inbox, clock)
    except DeviceError as error:
        if scale is not None:
            raise
        warn(f"No jug scale: {error}")
        return None
    if fitted is not None and not fitted.adapter.scale.calibrated:
        warn("The jug scale is not calibrated: say set the scale.")
    return fitted


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


def _open_announcer(
    app: Application, microphone: Callable[[], Microphone], *, silent: bool, warn: Callable[[str], None]
) -> tuple[Announcer | None, SoundOwner | None]:
    """Voice and speaker; where there are none, one clear line, and the replies stay on the terminal."""
    if silent or not app.settings.voice.on:
        return None, None

    def no_voice(why: str) -> None:
        warn(f"No voice: {why.rstrip('.')}. Replies stay on this terminal.")

    try:
        voice = app.voice()
        voice.speak("Ready.")
        owner = open_sound_card(app.settings, microphone)
    except (VoiceError, SoundError) as error:
        no_voice(str(error))
        return None, None
    return Announcer(voice, owner, tones(), often=app.replies.fixed(), on_silent=no_voice), owner
