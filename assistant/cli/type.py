"""`crumbcall type`: the same engine at a keyboard or from a pipe."""

import io
import json
import re
import sys
from collections.abc import Iterable
from queue import Queue
from threading import Event

import click

from assistant.app.adapters import real_clock, scripted_clock, told_clock
from assistant.app.application import open_application
from assistant.batch.record.printing.print_jobs import waiting
from assistant.cli.output import report_damage, show_turn
from assistant.cli.terminal import show as show_line
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.errors import SettingsError
from assistant.station.alive.presence import Presence
from assistant.station.loop import Loop
from assistant.station.messages import Message, Stop, Typed
from assistant.station.station import Turn
from assistant.station.workers import Worker

LONGEST_JUMP_S = 31 * 86_400.0
"""A line may move the clock this far (s)."""

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
    clock = told_clock(scripted or real_clock(app.settings))
    station, journal, started = app.open_station(clock, prints=True)
    heartbeat = app.heartbeat(clock)
    presence = Presence(
        heartbeat, keyboard=True, failing=lambda: station.failing, practised=lambda: station.practised
    )
    report_damage(journal)
    start, print_job = station.now, app.print_job(scripted or real_clock())
    interactive = sys.stdin.isatty()

    def show(turn: Turn, message: Message | None) -> None:
        if scripted is None:  # nobody looks at a time that only lines move
            presence.follow(turn, message, station.state)
        show_turn(turn, start, as_json=as_json, echo_said=not interactive)
        # A keyboard waits for the printer: what was typed last may be that it is to print.
        for job in waiting(station.state.prints):
            ended = station.printed(job.job, print_job(job))
            if ended.replies:
                show_turn(ended, start, as_json=as_json)

    if scripted is None:
        presence.follow(started, None, station.state)
    try:
        if any(reply.key != "ready" for reply in started.replies):
            show(started, None)
        inbox: Queue[Message] = Queue()
        loop = Loop(station, inbox, show)
        lines = (line for raw in sys.stdin if (line := raw.strip()))
        if scripted is not None:
            _play(lines, loop, inbox, scripted)
        else:
            heart = Worker("heartbeat", heartbeat.run, inbox).start()
            _follow(lines, loop, inbox)
            heart.stop()
        if with_state:
            show_line(json.dumps(station.state.account(station.now), ensure_ascii=False))
    finally:
        journal.close()


def jump_s(line: str) -> float:
    """Seconds of a line such as +90s, +2m or +1h30m. Raises SettingsError for any other."""
    found = _JUMP.fullmatch(line.replace(" ", ""))
    if found is None or not any(found.groups()):
        raise SettingsError(f"{line!r} is not a time to move by; write +90s, +2m or +1h30m.")
    hours, minutes, seconds = (float(part or 0) for part in found.groups())
    jump = hours * 3600 + minutes * 60 + seconds
    if jump > LONGEST_JUMP_S:
        raise SettingsError(f"{line!r} is too far, allowed are 31 days (+744h); move in smaller steps.")
    return jump


def _play(lines: Iterable[str], loop: Loop, inbox: "Queue[Message]", clock: ScriptedClock) -> None:
    """Lines at a clock that only they move; what falls due on the way comes at its own time."""
    for line in lines:
        if line.startswith("+"):
            loop.pass_time(clock, jump_s(line))
        else:
            inbox.put(Typed(line))
            loop.take_waiting()


def _follow(lines: Iterable[str], loop: Loop, inbox: "Queue[Message]") -> None:
    """Lines in real time; timers ring between them."""

    def read(_stop: Event) -> None:
        try:
            for line in lines:
                if line.startswith("+"):
                    show_line(f"Time moves by itself here; {line} needs --clock scripted.", err=True)
                else:
                    inbox.put(Typed(line))
        finally:
            inbox.put(Stop())

    Worker("keyboard", read, inbox).start()
    loop.run()
