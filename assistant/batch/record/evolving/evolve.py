"""State and event give the next state. The only place where a state changes; pure."""

from collections.abc import Iterable
from dataclasses import replace

from assistant.batch.record.events import Event
from assistant.batch.record.evolving.transitions import TABLE, row_name
from assistant.batch.record.evolving.undo import remember
from assistant.batch.record.phases import Phase
from assistant.batch.record.state import State
from assistant.errors import ImpossibleEvent


def replay(events: Iterable[Event]) -> State:
    """State after all events of a journal, oldest first."""
    state = State()
    for event in events:
        state = evolve(state, event)
    return state


def evolve(state: State, event: Event) -> State:
    """Apply one event. Raises ImpossibleEvent where the table forbids it or it contradicts the state."""
    row = TABLE[type(event)]
    moves = row.moves_of(event)
    phase = moves.get(state.phase)
    if phase is None:
        raise ImpossibleEvent(
            f"{row_name(event)} in phase {state.phase.value}: the table allows it in {_phases(list(moves))}"
        )
    moved: State = row.change(state, event)
    if row.moves_a_phase and moved.batch is not None and moved.batch.phase is not phase:
        moved = replace(moved, batch=replace(moved.batch, phase=phase))
    return remember(state, moved, event, row)


def _phases(allowed: list[Phase]) -> str:
    """Phases that allow an event, for the error's text."""
    return ", ".join(phase.value for phase in allowed)
