"""The single writer: one thread owns the state and takes one message at a time; what is due goes first."""

import threading
from collections.abc import Callable, Iterator
from queue import Empty, Queue

from assistant.batch.record.state import State
from assistant.clock import ScriptedClock
from assistant.nlu.rescoring import is_twin_near
from assistant.station.messages import (
    EARS,
    Beat,
    Died,
    Found,
    Heard,
    Lost,
    Message,
    Noticed,
    Pressed,
    PrintDone,
    Recovered,
    Stop,
    Touched,
    Typed,
    Weighed,
)
from assistant.station.station import Station, Turn

MOUTH = ("voice", "speaker")
"""Parts whose loss can't be told aloud; that the speaker is back can."""
LONGEST_WAIT_S = 1.0
"""A wait for messages is begun anew after so long (s).

A signal that comes just before a thread begins to wait does not wake it: the end that it asks for would wait
for the next message.
"""
TurnHandler = Callable[[Turn, Message | None], None]
"""Gets each turn, and the message that led to it; None where the time alone did."""
HeardHandler = Callable[[Heard, State, Turn | None, State], None]
"""Gets each utterance with what it led to, between the states before and after it."""


def due_turns(
    station: Station, until: float, move_to: Callable[[float], None] | None = None
) -> Iterator[Turn]:
    """Do what falls due up to `until` (s, station time), one turn after the other.

    `move_to` sets a scripted clock to the moment of each, and to `until` at the end. None: time passes by
    itself.
    """
    while (due := station.next_due) is not None and due <= until:
        if move_to is not None:
            move_to(due)
        turn = station.due()
        if turn is not None:
            yield turn
    if move_to is not None:
        move_to(until)


class Loop:
    """Takes messages from one queue and due moments from the state, one at a time.

    `act_above`: a recognition that is less sure (a probability) is asked about before it is acted on.
    `left_alone` gets each message that led to no turn, `on_heard` all that was heard.
    """

    def __init__(
        self,
        station: Station,
        inbox: "Queue[Message]",
        on_turn: TurnHandler,
        *,
        act_above: float = 0.0,
        left_alone: Callable[[Message], None] = lambda _: None,
        on_heard: HeardHandler = lambda *_: None,
    ) -> None:
        self._on_heard = on_heard
        self._station = station
        self._inbox = inbox
        self._on_turn = on_turn
        self._act_above = act_above
        self._left_alone = left_alone
        self._stopped = threading.Event()

    def run(self) -> None:
        """Take turns until stopped."""
        while not self._stopped.is_set():
            self.turn()

    def turn(self, *, wait: bool = True) -> bool:
        """Do what is due, else the next message; False where there was neither within the wait."""
        turn = next(due_turns(self._station, self._station.now), None)
        if turn is not None:
            self._on_turn(turn, None)
            return True
        due = self._station.next_due
        left = LONGEST_WAIT_S if due is None else max(0.0, due - self._station.now)
        try:
            message = self._inbox.get(wait, min(left, LONGEST_WAIT_S))
        except Empty:
            return False
        self._take(message)
        return True

    def pass_time(self, clock: ScriptedClock, seconds: float) -> None:
        """Let a scripted clock go on; what falls due on the way is done at its own time."""

        def move_to(at: float) -> None:
            clock.move(max(0.0, at - clock.monotonic()))

        for turn in due_turns(self._station, clock.monotonic() + seconds, move_to):
            self._on_turn(turn, None)

    def take_waiting(self) -> None:
        """Take the messages that are in the queue, without waiting for more."""
        while True:
            try:
                message = self._inbox.get_nowait()
            except Empty:
                return
            self._take(message)

    def _take(self, message: Message) -> None:
        before = self._station.state
        turn = self._answer(message)
        if isinstance(message, Heard):
            self._on_heard(message, before, turn, self._station.state)
        if turn is not None:
            self._on_turn(turn, message)
        else:
            self._left_alone(message)

    def _answer(self, message: Message) -> Turn | None:
        match message:
            case Heard():
                return hear(self._station, message, self._act_above)
            case Typed():
                return self._station.hear(message.text, source="keyboard")
            case Pressed() | Noticed() | Weighed():
                return act(self._station, message)
            case Touched():
                command = message.command(self._station.state)
                return None if command is None else self._station.press(command, "screen")
            case PrintDone():
                return self._station.printed(message.job, message.result)
            case Beat():
                message.turned()
                return None
            case Died():
                return self._station.announce("worker_died", worker=message.worker)
            case Recovered():
                return self._station.announce("worker_works", worker=message.worker)
            case Lost(what=part):
                return None if part in MOUTH else self._of_part(part, "cannot_hear", "worker_died")
            case Found(what=part):
                return None if part == "voice" else self._of_part(part, "hearing_again", "worker_works")
            case Stop():
                self._stopped.set()
                return None

    def _of_part(self, part: str, of_the_ear: str, of_another: str) -> Turn:
        """What is said of a part."""
        if part in EARS:
            return self._station.announce(of_the_ear)
        return self._station.announce(of_another, worker=part)


def act(station: Station, message: Pressed | Noticed | Weighed) -> Turn | None:
    """Act on what a device reports; None where that changes and says nothing."""
    match message:
        case Pressed():
            return station.press(message.command)
        case Noticed():
            return station.announce(message.key, message.tone, **message.values)
        case Weighed():
            return station.pour(message.grams, sure=message.sure)


def hear(station: Station, heard: Heard, act_above: float) -> Turn | None:
    """Act on what was recognised; None where it was not a command.

    What is not sure, or was cut, is asked about first; so is a number whose twin is not far.
    """
    found = station.rescore(heard.recognition)
    if not found.accepted or found.meaning is None:
        turn = station.doubt(found) if found.near and not heard.clipped else None
        return turn or (station.not_understood(addressed=heard.addressed) if found.text else None)
    unsure = found.sure < act_above or heard.clipped
    return station.recognised(found, unsure=unsure, twin_near=is_twin_near(found, heard.snr_db))
