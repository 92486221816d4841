"""The plan of the day as a file: written by `crumbcall plan`, read when the station starts."""

from pathlib import Path

import msgspec

from assistant.dough.shift_plan import PlannedBatch
from assistant.errors import SettingsError

FILE = "plan.json"


class DayPlan(msgspec.Struct, frozen=True):
    """Service as a time of day, and the batches in their order."""

    service: str
    batches: tuple[PlannedBatch, ...]


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
    """Keep a plan, in the place of the one before. Raises SettingsError."""
    try:
        file.write_bytes(msgspec.json.format(msgspec.json.encode(plan)) + b"\n")
    except OSError as error:
        raise SettingsError(
            f"{file} can't be written ({error.strerror}); make room or choose another --home."
        ) from None
