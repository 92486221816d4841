"""The one place that says what is exported: tables, columns, types, units. All else follows from it.

Names are only added, never changed or removed: other programs read them. A time is followed by a column that
says whether it is certain, where it may not be.
"""

from typing import get_args

from assistant.batch.record.commands import Verdict
from assistant.batch.record.events import Source
from assistant.batch.record.hopper.entries import EntryKind
from assistant.batch.record.timer_kinds import TIMER_KINDS
from assistant.dough.flour.granulation import SIZES_UM
from assistant.journal.exporting.columns import Column, Table
from assistant.journal.summaries import Outcome

ENDS = ("over", "heard", "stopped", "replaced", "next step")
"""How a timer ends: its mix or rest was over, it rang and was heard, it was stopped, another of its name was
set, or the batch went on without waiting."""
GRAM, PERCENT, SECOND, CELSIUS, KILO, MICRON = "g", "%", "s", "Cel", "kg", "um"

_UNSURE = "false where the clock was not set, or the station was off for an unknown time"


def _batch(*, always: bool = True) -> Column:
    return Column(
        "batch",
        "integer",
        "number of the batch",
        always=always,
        refers=("batches", "batch") if always else None,
    )


def _entry() -> Column:
    return Column("entry", "integer", "number of the entry in the account", always=True)


def _at(what: str) -> tuple[Column, Column]:
    return (
        Column("at", "datetime", what, always=True),
        Column("at_certain", "boolean", f"whether that time is certain: {_UNSURE}", always=True),
    )


def _taken_back() -> Column:
    return Column(
        "taken_back", "boolean", "whether it was taken back by undo: then it counts nowhere", always=True
    )


def _length_certain() -> Column:
    return Column(
        "length_certain",
        "boolean",
        "false: the station was off meanwhile for an unknown time",
        always=True,
    )


def _source() -> Column:
    return Column("source", "string", "who reported it", allowed=get_args(Source), always=True)


def _masses() -> tuple[Column, ...]:
    return (
        Column("grams", "number", "its mass, as it was corrected", GRAM, always=True),
        Column("told_g", "number", "its mass as it was first told", GRAM, always=True),
        Column("weighed_g", "number", "what the other source said of it; empty: it said nothing", GRAM),
    )


BATCHES = Table(
    "batches",
    "A row a batch.",
    ("batch",),
    (
        Column("batch", "integer", "its number", always=True),
        Column("opened_at", "datetime", "when it was opened", always=True),
        Column("opened_certain", "boolean", f"whether that time is certain: {_UNSURE}", always=True),
        Column("ended_at", "datetime", "when it was closed, dropped or taken back; empty: it is open"),
        Column("ended_certain", "boolean", "the same of its end; empty: it is open"),
        Column("outcome", "string", "what became of it", allowed=get_args(Outcome), always=True),
        Column("far", "boolean", "whether it was closed far outside its marks, as confirmed", always=True),
        Column("recipe", "string", "its recipe; empty: the plain dough"),
        Column("lot", "string", "lot of its flour, the last that was named; empty: none was"),
        Column("die", "string", "the last die that was named; empty: none was"),
        Column("target_pct", "number", "hydration aimed at: water per 100 of flour", PERCENT, always=True),
        Column("low_pct", "number", "least hydration that extrudes well", PERCENT, always=True),
        Column("high_pct", "number", "most hydration, past which the station asks", PERCENT, always=True),
        Column("flour_g", "number", "flour that is in, by the account", GRAM, always=True),
        Column("water_g", "number", "water that is in, that of additions with it", GRAM, always=True),
        Column("dry_g", "number", "what additions brought beside their water", GRAM, always=True),
        Column("scrap_g", "number", "dough trimmed or lost", GRAM, always=True),
        Column("hydration_pct", "number", "water per 100 of flour", PERCENT, always=True),
        Column("crumb", "string", "the last verdict; empty: none since", allowed=get_args(Verdict)),
        Column("trays", "integer", "full trays", always=True),
        Column("portions", "integer", "portions counted", always=True),
        Column("kitchen_c", "number", "temperature of the kitchen; empty: not told", CELSIUS),
        Column("dough_c", "number", "temperature of the dough; empty: not told", CELSIUS),
        Column("exit_c", "number", "temperature of the strand at the die; empty: not told", CELSIUS),
        Column("humidity_pct", "number", "relative humidity of the air; empty: not told", PERCENT),
        Column("gluten_free", "boolean", "whether it is a dough without gluten", always=True),
        Column("allergens", "string", "allergens of its recipe, each after a semicolon; empty: none named"),
        Column("carried_over", "string", "allergens that batches before left in the machine, likewise"),
    ),
)

POURS = Table(
    "pours",
    "A row for all that went into the hopper, or was taken out of it.",
    ("entry",),
    (
        _entry(),
        _batch(),
        *_at("when it was entered"),
        Column(
            "kind",
            "string",
            "what it was",
            allowed=tuple(kind for kind in get_args(EntryKind) if kind != "scrap"),
            always=True,
        ),
        Column("ingredient", "string", "name of an addition; empty: none"),
        *_masses(),
        Column("water_pct", "number", "water of an addition, of its own mass; empty: no addition", PERCENT),
        Column("hydration_pct", "number", "hydration of the batch with it in", PERCENT, always=True),
        _source(),
        _taken_back(),
    ),
)

CRUMBS = Table(
    "crumbs",
    "A row a verdict on the crumb.",
    ("sequence",),
    (
        Column("sequence", "integer", "its number in the journal", always=True),
        _batch(),
        *_at("when it was squeezed"),
        Column("verdict", "string", "what was found", allowed=get_args(Verdict), always=True),
        Column("hydration_pct", "number", "hydration that it was found at", PERCENT, always=True),
        Column("far", "boolean", "whether it was called ready far outside the marks", always=True),
        Column("cook", "string", "who judged it; empty: not known"),
        _taken_back(),
    ),
)

TIMERS = Table(
    "timers",
    "A row for each mix, rest and timer; the clocks of trays are in their own table.",
    ("sequence",),
    (
        Column("sequence", "integer", "its number in the journal", always=True),
        _batch(always=False),
        *_at("when it was set"),
        Column("name", "string", "its name", always=True),
        Column(
            "kind",
            "string",
            "its kind",
            allowed=tuple(kind for kind in TIMER_KINDS if kind != "tray"),
            always=True,
        ),
        Column("seconds", "number", "its length as it was set", SECOND, always=True),
        Column("added_s", "number", "time that was added", SECOND, always=True),
        Column("rang_at", "datetime", "when it rang; empty: it did not"),
        Column("ended_at", "datetime", "when it ended; empty: it runs or rings"),
        Column("end", "string", "how it ended; empty: it runs or rings", allowed=ENDS),
        Column(
            "length_certain",
            "boolean",
            "false: the station was off meanwhile for an unknown time",
            always=True,
        ),
        _taken_back(),
    ),
)

TRAYS = Table(
    "trays",
    "A row a full tray: the cooling record.",
    ("sequence",),
    (
        Column("sequence", "integer", "its number in the journal", always=True),
        _batch(),
        Column("tray", "integer", "its number in the batch", always=True),
        *_at("when it was full"),
        Column("since_at", "datetime", "what its time runs from: first water of its dough", always=True),
        Column("cold_by_at", "datetime", "when it has to be cold; empty: it had no clock"),
        Column("rang_at", "datetime", "when its time was up and was called; empty: it was not"),
        Column("cold_at", "datetime", "when it was told cold; empty: it was not"),
        Column("took_s", "number", "from the start of its time till it was cold; empty: not told", SECOND),
        Column("limit_s", "number", "time that it had; empty: not told cold", SECOND),
        Column("in_time", "boolean", "whether it was cold in its time; empty: not told cold"),
        Column(
            "length_certain",
            "boolean",
            "false: the station was off meanwhile for an unknown time",
            always=True,
        ),
        _taken_back(),
    ),
)

SCRAP = Table(
    "scrap",
    "A row for each time that dough was trimmed or lost.",
    ("entry",),
    (_entry(), _batch(), *_at("when it was entered"), *_masses(), _source(), _taken_back()),
)

LOTS = Table(
    "lots",
    "A row a lot of flour, by the batches and by lots.toml.",
    ("lot",),
    (
        Column("lot", "string", "its name, as it is said", always=True),
        Column("batches", "integer", "batches made of it, those taken back left out", always=True),
        Column("flour_g", "number", "flour that these took of it", GRAM, always=True),
        Column("first_used_at", "datetime", "when the first of them was opened; empty: none was"),
        Column("last_used_at", "datetime", "when the last of them was opened; empty: none was"),
        Column("used_certain", "boolean", f"whether these times are certain: {_UNSURE}; empty: not used"),
        Column("flour", "string", "name of the flour; this and what follows is of lots.toml"),
        Column("supplier", "string", "who delivered it"),
        Column("received", "date", "when it came"),
        Column("best_before", "date", "its best-before date"),
        Column("delivered_kg", "number", "how much came", KILO),
        Column("granulation", "string", "how it is ground", allowed=tuple(SIZES_UM)),
        Column("grain_um", "number", "size of its grains", MICRON),
        Column("moisture_pct", "number", "its own water, wet basis, as measured", PERCENT),
    ),
)

TABLES: dict[str, Table] = {one.name: one for one in (BATCHES, POURS, CRUMBS, TIMERS, TRAYS, SCRAP, LOTS)}
"""All tables, in the order in which they are written."""
