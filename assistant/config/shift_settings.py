"""Settings of the day around the batch: cooking, labels, the plan. Read and checked by `settings`."""

from typing import Annotated

from msgspec import Meta, Struct

from assistant.batch.record.rules import BatchRules

_COOK_S = BatchRules().cook_s


def number(what: str, least: float, most: float, unit: str = "") -> Meta:
    """What a number is for, and its range."""
    return Meta(ge=least, le=most, description=what, extra={"unit": unit})


def _cooking(shape: str) -> Meta:
    return number(f"time of {shape} in the water", 30, 3600, "s")


class CookingSettings(Struct, frozen=True):
    """How long each shape cooks. Fresh extruded 5 to 7 minutes: common practice, no source; the kitchen's win."""

    bucatini: Annotated[float, _cooking("bucatini")] = _COOK_S
    fettuccine: Annotated[float, _cooking("fettuccine")] = _COOK_S
    fusilli: Annotated[float, _cooking("fusilli")] = _COOK_S
    lasagne: Annotated[float, _cooking("lasagne")] = _COOK_S
    linguine: Annotated[float, _cooking("linguine")] = _COOK_S
    macaroni: Annotated[float, _cooking("macaroni")] = _COOK_S
    penne: Annotated[float, _cooking("penne")] = _COOK_S
    rigatoni: Annotated[float, _cooking("rigatoni")] = _COOK_S
    shells: Annotated[float, _cooking("shells")] = _COOK_S
    spaghetti: Annotated[float, _cooking("spaghetti")] = _COOK_S
    tagliatelle: Annotated[float, _cooking("tagliatelle")] = _COOK_S


class LabelSettings(Struct, frozen=True):
    """What stands on a label."""

    use_by_days: Annotated[
        int, number("days that fresh pasta is kept, the day it was made is the first", 1, 7, "days")
    ] = 7


class PlanSettings(Struct, frozen=True):
    """What a shift is planned with. All common practice, no source: the kitchen's own, measured, win."""

    loss_pct: Annotated[float, number("scrap and purge, of the dough", 0, 50, "%")] = 4
    extrude_g_per_min: Annotated[float, number("dough through the die", 10, 2000, "g a minute")] = 100
    changeover_s: Annotated[float, number("time from one die or dough to the next", 0, 7200, "s")] = 600


class TimerSettings(Struct, frozen=True):
    """Timers beside those that the grammar names."""

    names: Annotated[
        str,
        Meta(
            pattern=r"^([a-z]+( [a-z]+)?(, ?[a-z]+( [a-z]+)?){0,11})?\Z",
            description="the kitchen's own, as they are said: ragu, beef stock",
            extra={"allowed": "up to 12 names of one or two words in small letters, commas between"},
        ),
    ] = ""

    @property
    def own(self) -> tuple[str, ...]:
        """The names one by one."""
        return tuple(name.strip() for name in self.names.split(",") if name.strip())
