"""`crumbcall listen`: the main job, live at the microphone or from a recording."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import Queue

import click

from assistant.app.application import Application, open_application, scripted_clock, tones
from assistant.audio.owner import SoundOwner
from assistant.batch.record.commands import Listening
from assistant.cli.output import show_turn, tell_damage
from assistant.clock import RealClock
from assistant.config.home import Home
from assistant.errors import DeviceError, SoundError, VoiceError
from assistant.hearing.health import HealthReports
from assistant.hearing.listeners import LiveHearing, RecordedHearing, at_once, in_blocks, in_pool
from assistant.ports import Clock, Microphone
from assistant.station.closing import ClosingTime
from assistant.station.fittings import WhenAsked, open_fittings
from assistant.station.loop import Loop
from assistant.station.messages import Heard, Message, Pressed
from assistant.station.scale_adapter import ScaleAdapter, calibration_of, chosen, fit_scale, recorded_scale
from assistant.station.scale_dialog import keeper
from assistant.station.speaking import Announcer, RaisedVoice
from assistant.station.station import Station, Turn
from assistant.station.watchdog import Watchdog
from assistant.station.workers import Worker


@click.command("listen")
@click.option(
    "--from",
    "recording",
    type=click.Path(path_type=Path),
    help="Hear this recording as if it were the microphone, at full speed.",
)
@click.option("--no-voice", is_flag=True, help="Replies on the terminal only.")
@click.option("--device", help="Microphone: a part of its name.")
@click.option("--scale", help="Jug scale: none, nau7802, hx711, or replay:FILE of recorded samples.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@click.pass_obj
def listen_command(
    home: Home, recording: Path | None, no_voice: bool, device: str | None, scale: str | None, as_json: bool
) -> None:
    """Hear the cook and run the batch.

    Example: crumbcall listen --device usb
    """
    app = open_application(home)
    chosen(scale, app.settings.scale)  # a wrong one is told before anything is opened
    if recording is not None:
        _from_recording(app, recording, scale, as_json=as_json)
    else:
        _live(app, device, scale, no_voice=no_voice, as_json=as_json)


def _from_recording(app: Application, path: Path, scale: str | None, *, as_json: bool) -> None:
    """Hear a recording; the station's clock follows it, and what it replies is printed."""
    from assistant.audio.files import sound_blocks

    samples = recorded_scale(scale)
    keep = keeper(app.home.scale_file)
    weighing = ScaleAdapter(calibration_of(app.home, samples), Queue(), keep) if samples else None
    blocks = sound_blocks(path)
    first = next(blocks)
    recogniser = app.recogniser()
    clock = scripted_clock()
    station, journal, started = app.open_station(clock)
    tell_damage(journal)
    start = station.now

    def show(turn: Turn, _message: Message | None) -> None:
        show_turn(turn, start, as_json=as_json)

    try:
        if any(reply.key != "ready" for reply in started.replies):
            show(started, None)
        ear = app.ear(at_once(recogniser, lambda: station.asking))
        ears = RecordedHearing(station, clock, ear, show, min_margin=app.settings.recogniser.min_margin)
        if samples and weighing:
            station.jug = weighing
            ears.beside(weighing.beside(samples, start))
        ears.feed(first)
        in_blocks(blocks, ears)
    finally:
        journal.close()


def _live(app: Application, device: str | None, scale: str | None, *, no_voice: bool, as_json: bool) -> None:
    """Hear the microphone until Ctrl-C or SIGTERM."""
    from assistant.audio.capture import SoundMicrophone
    from assistant.hearing.gate import Gate

    clock = RealClock()
    settings = app.settings
    wanted = device or settings.microphone.device

    def bare_microphone() -> Microphone:
        return SoundMicrophone(device=wanted)

    care, raised = HealthReports(), RaisedVoice(settings.voice.noise_lift_db)
    bare_microphone().close()  # a wrong name is told at once, not by a worker
    mouth, owner = _open_mouth(app, bare_microphone, silent=no_voice or not settings.voice.on)

    def open_microphone() -> Microphone:
        found = bare_microphone() if owner is None else owner.open_microphone()
        return WhenAsked(found, fittings.hears)

    inbox: Queue[Message] = Queue()
    fittings = open_fittings(settings, inbox, clock.monotonic, lambda why: click.echo(why, err=True))
    weighing = _fit_scale(app, scale, inbox, clock.monotonic)
    recogniser = app.recogniser()
    station, journal, started = app.open_station(clock)
    tell_damage(journal)
    start = station.now

    def tell(turn: Turn, message: Message | None) -> None:
        if isinstance(message, Heard) and turn.command is None:
            return
        fittings.follow(turn, message, station.state)
        show_turn(turn, start, as_json=as_json)
        if mouth is not None:
            mouth.adjust(station.state.loudness, station.state.pace, raised.lift_db(care.noise_dbfs))
            mouth.say(turn.replies)

    pool = ThreadPoolExecutor(1, "recogniser")
    ears = LiveHearing(
        open_microphone,
        app.ear(in_pool(recogniser, lambda: station.asking, pool)),
        Gate(tail_s=settings.voice.tail_s, headset=not settings.voice.half_duplex),
        inbox,
        now=clock.monotonic,
        busy=lambda: owner is not None and owner.busy,
        care=care,
    )
    workers = [
        Worker("microphone", ears.capture, inbox),
        Worker("heartbeat", app.heartbeat(clock).run, inbox),
        *fittings.workers(),
        *_closing(app, clock, station, inbox),
    ]
    if weighing is not None:
        station.jug = fitted = weighing[0]
        fittings.asked = lambda: bool(fitted.asking)
        workers.append(weighing[1])
    if mouth is not None:
        workers.append(Worker("voice", mouth.run, inbox))
    watchdog = Watchdog()
    workers += watchdog.workers(inbox)
    for worker in workers:
        worker.start()
    try:
        tell(started, None)
        watchdog.tell("READY=1")
        Loop(station, inbox, tell, min_margin=settings.recogniser.min_margin).run()
    finally:
        watchdog.tell("STOPPING=1")
        for worker in workers:
            worker.stop()
        pool.shutdown(cancel_futures=True)
        if owner is not None:
            owner.close()
        journal.close()


def _fit_scale(
    app: Application, scale: str | None, inbox: "Queue[Message]", now: Callable[[], float]
) -> tuple[ScaleAdapter, Worker] | None:
    """The jug scale; where that of the settings can't be used, one clear line, and the voice is enough."""
    try:
        fitted = fit_scale(app.home, app.settings.scale, scale, inbox, now)
    except DeviceError as error:
        if scale is not None:
            raise
        click.echo(f"No jug scale: {error}", err=True)
        return None
    if fitted is not None and not fitted[0].scale.calibrated:
        click.echo("The jug scale is not calibrated: say set the scale.", err=True)
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


def _open_mouth(
    app: Application, microphone: Callable[[], Microphone], *, silent: bool
) -> tuple[Announcer | None, SoundOwner | None]:
    """Voice and speaker; where there are none, one clear line, and the replies stay on the terminal."""
    from assistant.audio.playback import SoundSpeaker

    settings = app.settings
    if silent:
        return None, None

    def speaker() -> SoundSpeaker:
        return SoundSpeaker(device=settings.speaker.device, volume=settings.voice.volume)

    def tell(why: str) -> None:
        click.echo(f"No voice: {why.rstrip('.')}. Replies stay on this terminal.", err=True)

    try:
        voice = app.voice()
        voice.speak("Ready.")
        owner = SoundOwner(speaker, microphone)
    except (VoiceError, SoundError) as error:
        tell(str(error))
        return None, None
    return Announcer(voice, owner, tones(), often=app.replies.fixed(), on_silent=tell), owner
