"""How a turn is shown: as dialogue for people, or as one JSON object a line."""

import json
from typing import Any

from assistant.batch.record.command_object import meaning_object
from assistant.cli.terminal import show
from assistant.journal.failures import IN_WORDS
from assistant.journal.held import HeldJournal
from assistant.station.station import Turn


def turn_object(turn: Turn, start: float) -> dict[str, Any]:
    """JSON object of a turn; `at` in seconds since `start`."""
    return {
        "at": round(turn.at - start, 3),
        "said": turn.said,
        **meaning_object(turn.command),
        "replies": [{"key": reply.key, "text": reply.text} for reply in turn.replies],
    }


def show_turn(turn: Turn, start: float, *, as_json: bool, echo_said: bool = True) -> None:
    """Print a turn; as dialogue, talk that nobody answers is printed without an answer."""
    if as_json:
        show(json.dumps(turn_object(turn, start), ensure_ascii=False))
        return
    at = clock_text(turn.at - start)
    if turn.said is not None and echo_said:
        show(f"{at}  cook       {turn.said}")
    for reply in turn.replies:
        show(f"{at}  crumbcall  {reply.text}")


def clock_text(seconds: float) -> str:
    """Time since the start as minutes and seconds, with hours where there are any."""
    whole = max(0, int(seconds))  # what is said at the start comes before the count
    hours, minutes = divmod(whole // 60, 60)
    return f"{hours}:{minutes:02}:{whole % 60:02}" if hours else f"{minutes:02}:{whole % 60:02}"


def report_damage(journal: HeldJournal) -> None:
    """Say on the terminal why a journal can't be written, or where a damaged one was moved to."""
    if journal.error is not None:
        show(
            f"{journal.path}: {IN_WORDS[journal.trouble]}. The station goes on in memory and writes as "
            "soon as it can; until then a power cut loses what is said.",
            err=True,
        )
    found = []
    if journal.moved_aside is not None:
        found.append(
            f"it is in {journal.moved_aside}, {journal.carried_over} decisions of it were carried over"
        )
    if journal.kept_aside:
        found.append(f"{journal.kept_aside} entries are not what was written, or can't be read")
    if journal.lost:
        found.append(f"{journal.lost} entries are lost")
    if found:
        why = f" ({journal.set_aside[0].why})" if journal.set_aside else ""
        show(
            f"The journal was damaged: {'; '.join(found)}{why}. Keep the files; "
            "crumbcall ledger verify lists it. Check the account before you pour.",
            err=True,
        )
