"""`crumbcall type`: the same engine at a keyboard or from a pipe."""

import io
import json
import re
import sys
from collections.abc import Callable, Iterable
from queue import Queue
from threading import Event

import click

from assistant.app.application import open_application, scripted_clock
from assistant.cli.output import show_turn, tell_damage
from assistant.clock import RealClock, ScriptedClock
from assistant.config.home import Home
from assistant.errors import SettingsError
from assistant.station.loop import Listener, Loop
from assistant.station.messages import Message, Stop, Typed
from assistant.station.station import Station, Turn
from assistant.station.workers import Worker

_JUMP = re.compile(r"\+(?:(\d+)h)?(?:(\d+)m)?(?:(\d+(?:\.\d+)?)s)?")


@click.command("type")
@click.option(
    "--clock",
    "clock_kind",
    type=click.Choice(["real", "scripted"]),
    default="real",
    help="real: time passes. scripted: it passes only by lines such as +90s, +2m, +1h30m.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@click.option("--state", "with_state", is_flag=True, help="End with the state as a JSON object.")
@click.pass_obj
def type_command(home: Home, clock_kind: str, as_json: bool, with_state: bool) -> None:
    r"""Run a batch from typed lines: a line is what was said.

    Example: printf 'new batch 1500\nwater 150\n+2m\nhow much left\n' | crumbcall type --clock scripted
    """
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")
    app = open_application(home)
    scripted = scripted_clock() if clock_kind == "scripted" else None
    clock = scripted or RealClock()
    station, journal, started = app.open_station(clock)
    tell_damage(journal)
    start = station.now
    interactive = sys.stdin.isatty()

    def show(turn: Turn, _message: Message | None = None) -> None:
        show_turn(turn, start, as_json=as_json, echo_said=not interactive)
        if interactive and turn.said and turn.command is None:
            near = app.grammar.suggest(turn.said)
            click.echo(f"       (no command{f'; did you mean: {near}' if near else ''})")

    try:
        if any(reply.key != "ready" for reply in started.replies):
            show(started)
        lines = (line.strip() for line in sys.stdin)
        if scripted is not None:
            _play(lines, station, scripted, show)
        else:
            _follow(lines, station, show)
        if with_state:
            click.echo(json.dumps(station.state.account(station.now), ensure_ascii=False))
    finally:
        journal.close()


def jump_s(line: str) -> float:
    """Seconds of a line such as +90s, +2m or +1h30m. Raises SettingsError for any other."""
    found = _JUMP.fullmatch(line.replace(" ", ""))
    if found is None or not any(found.groups()):
        raise SettingsError(f"{line!r} is no time to move by; write +90s, +2m or +1h30m.")
    hours, minutes, seconds = (float(part or 0) for part in found.groups())
    return hours * 3600 + minutes * 60 + seconds


def _play(lines: Iterable[str], station: Station, clock: ScriptedClock, show: Callable[[Turn], None]) -> None:
    """Lines at a clock that moves only when told; what falls due on the way comes at its own time."""
    for line in lines:
        if not line:
            continue
        if not line.startswith("+"):
            show(station.hear(line, source="keyboard"))
            continue
        until = clock.monotonic() + jump_s(line)
        while (due := station.next_due) is not None and due <= until:
            clock.move(max(0.0, due - clock.monotonic()))
            show(station.due())
        clock.move(max(0.0, until - clock.monotonic()))


def _follow(lines: Iterable[str], station: Station, show: Listener) -> None:
    """Lines in real time; timers ring between them."""
    inbox: Queue[Message] = Queue()

    def read(_stop: Event) -> None:
        try:
            for line in lines:
                if line.startswith("+"):
                    click.echo(f"Time moves by itself here; {line} needs --clock scripted.", err=True)
                elif line:
                    inbox.put(Typed(line))
        finally:
            inbox.put(Stop())

    Worker("keyboard", read, inbox).start()
    Loop(station, inbox, show, min_margin=0.0).run()
