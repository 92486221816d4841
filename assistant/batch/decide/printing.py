"""What is to be printed: which label or sheet is meant, and what is said of how that ended."""

from assistant.batch.decide.draft import Draft, Printed
from assistant.batch.record.commands import Print
from assistant.batch.record.printing.print_events import PrintAsked, PrintEnded, PrintsTriedAgain
from assistant.batch.record.printing.print_jobs import kept, waiting
from assistant.batch.record.printing.print_kinds import PrintedWhat, PrintFailure

_FAILED: dict[PrintFailure, str] = {
    "printer": "print_failed_printer",
    "paper": "print_failed_paper",
    "allergens": "print_failed_allergens",
    "nothing": "print_failed_nothing",
    "restart": "print_failed_printer",
}


def nothing_to_print(d: Draft, command: Print) -> bool:
    """Whether there is nothing of it, or no printer for it; says so."""
    what = _what(command)
    trays = None if d.state.batch is None else d.state.batch.trays
    if command.page == "again" and not kept(d.state.prints):
        d.say("print_none_kept")
    elif not d.known.prints or (what is not None and what not in d.known.prints):
        d.say("print_no_printer")
    elif what in ("label", "sheet") and not d.state.last_batch:
        d.say("print_nothing")
    elif command.tray is not None and trays is not None and command.tray > trays:
        d.say("print_no_tray", tray=command.tray, trays=trays)
    else:
        return False
    return True


def _what(command: Print) -> PrintedWhat | None:
    """What comes out of the printer; None: whatever was kept."""
    if command.page == "again":
        return None
    return "label" if command.page == "labels" else command.page


def print_wished(d: Draft, command: Print) -> None:
    """Print it; where no tray was told of, it is asked whether the batch as a whole is meant."""
    number, batch = d.state.last_batch, d.state.batch
    match command.page:
        case "again":
            count = len(kept(d.state.prints))
            d.happen(PrintsTriedAgain(at=d.now))
            d.say("print_again", "taken", count=count)
        case "sheet":
            _ask(d, "sheet", number)
            d.say("print_sheet", "taken", batch=number)
        case "day":
            _ask(d, "day", None)
            d.say("print_day", "taken")
        case "label" | "labels" if batch is not None and not batch.trays and not command.whole:
            d.ask("print", Print("label", whole=True), "ask_print_whole", batch=number)
        case "labels":
            _ask(d, "label", number, every=True)
            d.say("print_labels", "taken", batch=number)
        case "label":
            tray = command.tray
            if tray is None and batch is not None and batch.trays and not command.whole:
                tray = batch.trays
            _ask(d, "label", number, tray)
            if tray is None:
                d.say("print_label_batch", "taken", batch=number)
            else:
                d.say("print_label", "taken", tray=tray)


def _ask(
    d: Draft, what: PrintedWhat, batch: int | None, tray: int | None = None, *, every: bool = False
) -> None:
    job = d.state.next_print
    day = d.known.today() if what == "day" else None
    d.happen(PrintAsked(at=d.now, job=job, what=what, batch=batch, tray=tray, every=every, day=day))


def ended(d: Draft, request: Printed) -> None:
    """A job ended. That it failed is said once; once one succeeds, what was kept is offered again, once."""
    if all(one.job != request.job for one in waiting(d.state.prints)):
        return
    may_ask = d.state.question is None and d.state.listening and not d.state.ringing
    old = [one for one in kept(d.state.prints) if not one.offered]
    result = request.result
    offers = result.failure is None and bool(old) and may_ask and len(waiting(d.state.prints)) == 1
    d.happen(PrintEnded(at=d.now, job=request.job, failure=result.failure, line=result.line, offers=offers))
    if result.failure is not None:
        d.say(_FAILED[result.failure])
    elif offers:
        d.ask("print", Print("again"), "ask_print_kept", count=len(kept(d.state.prints)))
