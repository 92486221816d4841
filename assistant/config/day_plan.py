"""The plan of the day as a file: written by `crumbcall plan`, read by the station whenever it has changed."""

from pathlib import Path

import msgspec

from assistant.dough.shift_plan import PlannedBatch
from assistant.errors import SettingsError

FILE = "plan.json"


class DayPlan(msgspec.Struct, frozen=True):
    """Service as a time of day, and the batches in their order."""

    service: str
    batches: tuple[PlannedBatch, ...]
    day: str | None = None
    """Day of the service, as 2026-03-02; None: not known, for plans of 0.1.0 have none."""


class WatchedPlan:
    """The plan's batches as they are now; for the station, which only ever reads the file.

    A file that can't be read leaves the plan as it was: a batch goes on, and `crumbcall plan` says what is
    wrong.
    """

    def __init__(self, file: Path) -> None:
        self._file = file
        self._seen: tuple[int, int, int] | None = None
        self._batches: tuple[PlannedBatch, ...] = ()

    def __call__(self) -> tuple[PlannedBatch, ...]:
        """The batches in their order; none where there is no plan."""
        seen = self._stamp()
        if seen != self._seen:
            self._seen = seen
            try:
                plan = read_plan(self._file)
            except SettingsError:
                return self._batches
            self._batches = plan.batches if plan else ()
        return self._batches

    def _stamp(self) -> tuple[int, int, int] | None:
        """What changes whenever another plan is kept; None without one."""
        try:
            found = self._file.stat()
        except OSError:
            return None
        return found.st_ino, found.st_mtime_ns, found.st_size


def read_plan(file: Path) -> DayPlan | None:
    """The plan; None where there is none. Raises SettingsError where the file can't be used."""
    try:
        return msgspec.json.decode(file.read_bytes(), type=DayPlan)
    except FileNotFoundError:
        return None
    except (OSError, msgspec.DecodeError, UnicodeDecodeError) as error:
        raise SettingsError(
            f"{file} is not a plan ({error}); move it away, or make a new one with crumbcall plan."
        ) from None


def write_plan(file: Path, plan: DayPlan) -> None:
    """Keep a plan, in the place of the one before: whole or not at all. Raises SettingsError."""
    part = file.with_name(file.name + ".part")
    try:
        part.write_bytes(msgspec.json.format(msgspec.json.encode(plan)) + b"\n")
        part.replace(file)
    except OSError as error:
        raise SettingsError(
            f"{file} can't be written ({error.strerror}); make room or choose another --home."
        ) from None
