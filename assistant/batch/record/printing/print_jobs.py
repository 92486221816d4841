"""Jobs of printing as the state has them, and how events change them. Pure."""

from dataclasses import dataclass, replace

from assistant.batch.record.printing.print_kinds import PrintedWhat, PrintFailure

MOST_KEPT = 20
"""Jobs that are kept; of more the oldest goes."""


@dataclass(frozen=True, slots=True)
class PrintJob:
    """Something to be printed, or that could not be."""

    job: int
    what: PrintedWhat
    batch: int | None = None
    tray: int | None = None
    every: bool = False
    day: str | None = None
    failure: PrintFailure | None = None
    """Why it was not printed; None: it waits to be."""
    offered: bool = False
    """Whether it was offered again since."""

    @property
    def page(self) -> tuple[object, ...]:
        """What it prints: two of the same are one."""
        return self.what, self.batch, self.tray, self.every, self.day


Jobs = tuple[PrintJob, ...]


def waiting(jobs: Jobs) -> Jobs:
    """Those that are to be printed, oldest first."""
    return tuple(one for one in jobs if one.failure is None)


def kept(jobs: Jobs) -> Jobs:
    """Those that could not be printed, oldest first."""
    return tuple(one for one in jobs if one.failure is not None)


def asked(jobs: Jobs, job: PrintJob) -> Jobs:
    """With one more; the same that was kept is not kept beside it."""
    others = tuple(one for one in jobs if one.failure is None or one.page != job.page)
    return (*others[-(MOST_KEPT - 1) :], job)


def ended(jobs: Jobs, number: int, failure: PrintFailure | None, *, offers: bool) -> Jobs:
    """After one ended. Where no printer answers, what waits behind it is kept too: it would fail as well."""
    found: list[PrintJob] = []
    for one in jobs:
        if one.job == number:
            if failure is not None and failure != "nothing":
                found.append(replace(one, failure=failure))
        elif one.failure is None and failure == "printer":
            found.append(replace(one, failure=failure))
        else:
            found.append(replace(one, offered=True) if offers and one.failure is not None else one)
    return tuple(found)


def again(jobs: Jobs) -> Jobs:
    """All wait to be printed."""
    return tuple(replace(one, failure=None, offered=False) for one in jobs)


def restarted(jobs: Jobs) -> Jobs:
    """After the station was off: whether what waited came out, nobody knows."""
    return tuple(replace(one, failure="restart") if one.failure is None else one for one in jobs)
