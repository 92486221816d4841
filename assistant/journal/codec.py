"""Events and states as text for the journal, and back. Pure.

An event is its class's name and a JSON object of its fields. Names and fields that were ever written stay
readable: a new field gets a default, a class that is no longer made is kept in
`batch.record.events`.
"""

import hashlib
from functools import cache
from pathlib import Path
from typing import Any

import msgspec

import assistant.batch.record
import assistant.dough
from assistant.batch.record.events import Event
from assistant.batch.record.evolving.transitions import EVENTS
from assistant.batch.record.state import State
from assistant.errors import JournalError
from assistant.journal.shapes import ShapeError, UnknownNameError, decoder, encoder


class DamagedEvent(JournalError):  # noqa: N818 - what it is
    """The text of an event is no longer what was written."""


def event_text(event: Event) -> tuple[str, str]:
    """Name and JSON text of an event. Raises ValueError where it holds a number without end: our bug."""
    return type(event).__name__, msgspec.json.encode(_fields(event)).decode()


def _fields(event: Event) -> dict[str, Any]:
    kind: Any = type(event)
    found: dict[str, Any] = encoder(kind)(event)
    if not event.joined:
        # Few are: the rest is written as it always was.
        del found["joined"]
    return found


def read_event(sequence: int, name: str, text: str | bytes) -> Event:
    """The event that was written as `sequence`.

    Raises DamagedEvent where the text is damaged, JournalError where another version of the program wrote
    something that this one doesn't know.
    """
    kind: Any = EVENTS.get(name)
    if kind is None:
        raise JournalError(f"entry {sequence} is a {name!r}, which is not known here; {_USE_ITS_OWN}")
    try:
        event: Event = decoder(kind)(msgspec.json.decode(text))
    except UnknownNameError as error:
        raise JournalError(f"entry {sequence}, a {name}: {error}; {_USE_ITS_OWN}") from error
    except (ShapeError, msgspec.DecodeError, UnicodeDecodeError) as error:
        raise DamagedEvent(f"entry {sequence}, a {name}, is damaged: {error}") from error
    return event


_USE_ITS_OWN = "read it with the version of crumbcall that wrote it"


def state_text(value: State) -> str:
    """A state as JSON text, for a snapshot."""
    return msgspec.json.encode(encoder(State)(value)).decode()


def read_state(text: str | bytes) -> State | None:
    """State of a snapshot; None where it can't be read: then the events count."""
    try:
        found: State = decoder(State)(msgspec.json.decode(text))
    except (ShapeError, msgspec.DecodeError, UnicodeDecodeError):
        return None
    return found


def files_that_shape_the_state() -> list[Path]:
    """Source files that can change what events lead to.

    `evolve` is in `batch.record`, which rests on `dough` alone: the import rules hold that. Errors and ports
    say nothing about a state.
    """
    folders = [*assistant.batch.record.__path__, *assistant.dough.__path__]
    return sorted(file for folder in folders for file in Path(folder).rglob("*.py"))


@cache
def code_that_made_it() -> str:
    """Digest of the code that turns events into a state: a snapshot by other code is not trusted.

    Empty where the code can't be read; then no snapshot is.
    """
    digest = hashlib.sha256()
    try:
        for file in files_that_shape_the_state():
            digest.update(file.read_bytes())
    except OSError:
        return ""
    return digest.hexdigest()
