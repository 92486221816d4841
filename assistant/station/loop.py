"""The single writer: one thread owns the state, and takes one message after the other. A due timer goes first."""

import threading
from collections.abc import Callable
from queue import Empty, Queue

from assistant.nlu.rescoring import needed_margin
from assistant.station.messages import (
    Beat,
    Died,
    Found,
    Heard,
    Lost,
    Message,
    Noticed,
    Pressed,
    Stop,
    Typed,
    Weighed,
)
from assistant.station.station import Station, Turn

Listener = Callable[[Turn, Message | None], None]


class Loop:
    """Takes messages from one queue and due moments from the state, one at a time."""

    def __init__(
        self, station: Station, inbox: "Queue[Message]", listener: Listener, *, min_margin: float
    ) -> None:
        self._station = station
        self._inbox = inbox
        self._listener = listener
        self._min_margin = min_margin
        self._stopped = threading.Event()

    def run(self) -> None:
        """Turn until stopped."""
        while not self._stopped.is_set():
            self.turn()

    def turn(self, *, wait: bool = True) -> bool:
        """Do what is due, else the next message; False where there was neither within the wait."""
        due = self._station.next_due
        if due is not None and due <= self._station.now:
            self._listener(self._station.due(), None)
            return True
        timeout = None if due is None else due - self._station.now
        try:
            message = self._inbox.get(timeout=timeout) if wait else self._inbox.get_nowait()
        except Empty:
            return False
        turn = self._answer(message)
        if turn is not None:
            self._listener(turn, message)
        return True

    def _answer(self, message: Message) -> Turn | None:
        match message:
            case Heard():
                return hear(self._station, message, self._min_margin)
            case Typed():
                return self._station.hear(message.text, source="keyboard")
            case Pressed() | Noticed() | Weighed():
                return act(self._station, message)
            case Beat():
                message.turned()
                return None
            case Died():
                return self._station.tell("worker_died", worker=message.worker)
            case Lost():
                return self._station.tell("cannot_hear") if message.what == "microphone" else None
            case Found():
                return self._station.tell("hearing_again") if message.what == "microphone" else None
            case Stop():
                self._stopped.set()
                return None


def act(station: Station, message: Pressed | Noticed | Weighed) -> Turn | None:
    """Act on what a device reports; None where there is nothing to show."""
    match message:
        case Pressed():
            return station.press(message.command)
        case Noticed():
            return station.tell(message.key, message.tone, **message.values)
        case Weighed():
            return station.pour(message.grams, sure=message.sure)


def hear(station: Station, heard: Heard, min_margin: float) -> Turn | None:
    """Act on what was recognised; None where it was no command. A thin margin, a poor fit or a cut utterance asks first."""
    found = station.rescore(heard.recognition, min_margin)
    if not found.accepted:
        return station.doubt(found.text) if found.near and not heard.clipped else None
    unsure = found.margin < needed_margin(min_margin, heard.snr_db)
    return station.hear(found.text, unsure=unsure or heard.clipped)
