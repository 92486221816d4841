"""Trays out of the die: each has its clock to cold holding.

US Food Code 3-501.14(B): food made from ingredients at ambient temperature is down to 5 C (41 F) within 4 hours.
Cool before covering, a dry cloth meanwhile: common practice, no source. Local code counts before both.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.record import shift_events as sh
from assistant.batch.record.commands import TrayCold
from assistant.batch.record.events import TrayFilled
from assistant.batch.record.state import Timer

LIMIT_S = 4 * 3600.0


def fill(d: Draft, _command: object) -> None:
    """One more tray is full: its clock starts."""
    batch = d.state.batch
    if batch is None:
        d.say("no_batch")
        return
    tray, due = batch.trays + 1, d.now + LIMIT_S
    warn_at = due - d.rules.tray_warn_s if d.rules.tray_warn_s > 0 else None
    d.happen(TrayFilled(d.now, tray, batch.number, due, warn_at))
    d.say("tray_filled", "taken", tray=tray)
    if tray == 1:
        d.say("tray_care")


def chill(d: Draft, command: TrayCold) -> None:
    """A tray is cold: within its time, or too late."""
    waiting = sorted((t for t in d.state.timers if t.kind == "tray"), key=lambda t: t.due)
    meant = [t for t in waiting if command.tray is None or tray_of(t)[1] == command.tray]
    if not meant:
        d.say("tray_unknown")
        return
    if d.unsure and not d.confirmed:
        d.ask("unsure", command, "ask_unsure", said=d.text)
        return
    timer = meant[0]
    batch, tray = tray_of(timer)
    took = d.now - (timer.due - timer.seconds)
    d.happen(sh.TrayChilled(d.now, batch, tray, took))
    if took < LIMIT_S:
        d.say("tray_cold", "taken", tray=tray, seconds=took)
    else:
        d.say("tray_cold_late", "question", tray=tray)


def tray_of(timer: Timer) -> tuple[int, int]:
    """Numbers of batch and tray of a tray's clock."""
    batch, tray = timer.name.removeprefix("tray ").split(".")
    return int(batch), int(tray)


def say_tray(d: Draft, timer: Timer, key: str) -> None:
    """Say what is left for a tray."""
    batch, tray = tray_of(timer)
    d.say(key, tray=tray, batch=batch, seconds=timer.remaining_s(d.now))
