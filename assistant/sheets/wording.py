"""The words of sheet, list of batches, label and chart in one language: `grammar/<language>/sheets.toml`.

Every wording that is needed follows from what there is to say: a line for each event that the sheet shows,
one for each command, a word for each value of a closed list, and `_OTHERS`.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import fields
from datetime import tzinfo
from functools import partial
from types import NoneType
from typing import Any, get_args, get_type_hints

from assistant.batch.record import commands as cmd
from assistant.batch.record.clocks.food_rules import Authority
from assistant.batch.record.events import Reason, Source
from assistant.batch.record.evolving.transitions import TABLE
from assistant.batch.record.hopper.entries import EntryKind
from assistant.config.allergens.lists import ALLERGENS, EU, GRAINS, NUTS_US, US
from assistant.config.language.card_groups import GROUPS
from assistant.dough.amounts import Amount, Unit
from assistant.journal.summaries import Outcome
from assistant.nlg.templates import Wordings
from assistant.sheets import formats
from assistant.sheets.charts.chart_words import CHARTS
from assistant.sheets.lines import DETAILS
from assistant.sheets.sheet import Moment, Phrase

CAUTIONS = ("raw_flour", "down_to_cold", "unplugged", "allergens")
"""Cautions of every sheet, in their order: four at most, so that they are read."""
RETIRED = (
    *(f"cautions.{name}" for name in ("hold_cold", "wheat", "use_by", "dust", "noise", "no_record")),
    *(f"label.{name}" for name in ("batch", "made_unknown", "use_by_unknown", "use_by", "keep", "check")),
    *(f"label.head.{name}" for name in ("pasta", "batch", "lot", "mind", "keep", "check")),
    *("chart.title", "chart.mark", "chart.batch", "chart.legend"),
    *("label.no_lot", "allergens.molluscs_in_the_us", "allergens.plainly", "allergens.trap"),
)
"""Wordings that there were once: a kitchen's file that still has them is read without them."""

LISTS: Mapping[str, tuple[str, ...]] = {
    "crumb": get_args(cmd.Verdict),
    "entry": get_args(EntryKind),
    "source": get_args(Source),
    "condition": get_args(cmd.Condition),
    "reason": get_args(Reason),
    "outcome": get_args(Outcome),
    "unit": get_args(Unit),
    "topic": get_args(cmd.Topic),
    "move": get_args(cmd.Move),
    "allergen": ALLERGENS,
    "authority": get_args(Authority),
}
"""Closed lists whose values have a word each; a list is also the format that writes one of its values."""

_NUMBERS = frozenset({"number", "figure", "one_decimal", "mass", "percent", "length"})
_BATCH_HEAD = "batch opened flour water hydration crumb lot state"
_SHEET_HEAD = "time since void what by hydration notes"
_LABELS = (
    "lot recipe addition to_come target flour water hydration taken_out dough scrap net crumb extruded die "
    "pace heat grain carried_over trays portions times cold_by clean_by station"
)
_DAY = "batches portions scrap trays lots wanted left order"
_PAPER = "clock_was_not_set note checked_by not_told_cold time_unsure walk_not_ended"
DAY_TABLES = {
    "batches": "batch opened recipe lot flour water hydration crumb portions scrap state",
    "cooling": "tray wet filled cold_by cold took celsius hand",
    "lots": "lot kind supplier best_before used",
    "walks": "walk began ended result",
}
"""Tables of a day's sheet, with their columns."""
_FOOD = "celsius:degrees cold_s:hours clean_s:hours authority:authority source:name"
_LABEL_HEADS = "weight portions made cold_by use_by eu us traces"

_OTHERS: Mapping[str, str] = {
    "units.mass": "value:number",
    "units.percent": "value:number",
    "units.amount": "value:number unit:unit",
    "units.decimal_mark": "",
    "clock.not_set": "",
    "clock.date_not_set": "date:name",
    "lines.taken_back": "line:phrase",
    **dict.fromkeys(("notes.taken_back", "notes.yes", "notes.no", "notes.no_answer", "notes.running"), ""),
    "notes.corrected": "grams:number",
    "notes.ran": "seconds:number",
    "sheet.title": "number:number",
    "sheet.mind": "",
    "sheet.void": "",
    **{f"sheet.head.{name}": "" for name in _SHEET_HEAD.split()},
    "facts.label.opened": "",
    **{f"facts.label.{name}": "" for name in _LABELS.split()},
    "facts.ended": "when:name seconds:number",
    "facts.recipe": "recipe:name allergens:name",
    "facts.addition": "grams:number ingredient:name water_g:number",
    "facts.to_come": "grams:number ingredient:name",
    "facts.water_split": "water_g:number poured_g:number carried_g:number names:name",
    "facts.taken_out": "grams:number flour_g:number",
    "facts.target": "target_pct:number low_pct:number high_pct:number",
    "facts.net": "net_g:number yield_pct:number",
    **{f"facts.{name}": "" for name in ("not_ended", "no_lot", "no_allergens", "no_crumb", "no_die")},
    **{f"facts.{name}": "" for name in ("extruded_early", "extruded_ready", "times_uncertain", "times_told")},
    **{f"cautions.{name}.text": "" for name in CAUTIONS},
    **{f"cautions.{name}.source": "" for name in CAUTIONS},
    "cautions.allergens.text": "eu:name us:name unknown:name",
    **dict.fromkeys(("cautions.down_to_cold.text", "cautions.down_to_cold.source"), _FOOD),
    **dict.fromkeys(("facts.cold_by", "facts.clean_by"), f"when:name {_FOOD}"),
    "facts.never_wet": "",
    "facts.grain": "micrometres:number coarse:name",
    "facts.carried_over": "allergens:name",
    "facts.pace": "g_per_min:number seconds:number",
    "facts.heat": "celsius:degrees kj_per_kg:number",
    "facts.own_plan": "",
    **{f"batches.head.{name}": "" for name in _BATCH_HEAD.split()},
    "batches.none": "",
    "batches.nothing": "",
    **{f"label.head.{name}": "" for name in _LABEL_HEADS.split()},
    "day.title": "day:name",
    "day.count": "count:number",
    "day.mass": "grams:number",
    "day.tray": "batch:number tray:number",
    "day.none": "",
    "day.lot": "lot:name grams:number",
    "day.unknown": "",
    **{f"day.label.{name}": "" for name in _DAY.split()},
    **{f"card.{name}": "" for name in ("title", "note", "own")},
    **{f"card.group.{name}": "" for name in GROUPS},
    "label.pasta": "die:name recipe:name",
    "label.any_die": "",
    "label.of_batch": "number:number lot:name",
    "label.tray": "tray:number trays:number",
    "label.blank": "",
    "label.share": "grams:number",
    "label.share_portions": "count:number",
    "label.clock_not_set": "",
    "label.cold_by": "when:name celsius:degrees",
    "label.contains": "allergens:name",
    "label.contains_none": "",
    "label.may_contain": "allergens:name",
    "allergens.none": "",
    "allergens.gluten": "grains:name",
    "allergens.kinds": "allergen:name kinds:name",
    **{f"allergens.grain.{name}": "" for name in GRAINS},
    **{f"allergens.eu.{name}": "" for name in EU},
    **{f"allergens.nut.{name}": "" for name in NUTS_US},
    **{f"allergens.us.{name}": "" for name in US},
    **CHARTS,
    "paper.left_out": "count:number number:number",
    "paper.batches_left_out": "count:number",
    "paper.cooked_by": "name:name",
    **dict.fromkeys(("paper.took", "paper.took_late"), "length:name"),
    "paper.walk_result": "skipped:number",
    **{f"paper.{name}": "" for name in _PAPER.split()},
    **{f"paper.title.{name}": "" for name in DAY_TABLES},
    **{f"paper.{name}.{one}": "" for name, columns in DAY_TABLES.items() for one in columns.split()},
    **dict.fromkeys(("calendar.name", "calendar.rest_note", "calendar.use_by_note"), ""),
    **dict.fromkeys(("calendar.tray_note", "calendar.tray_note_unsure"), ""),
    "calendar.pasta": "die:name recipe:name",
    "calendar.batch": "pasta:name portions:number",
    "calendar.batch_note": "flour_g:number water_g:number",
    "calendar.rest": "pasta:name",
    "calendar.tray": "batch:number tray:number",
    "calendar.use_by": "pasta:name batch:number trays:number",
}
"""Wordings of all the rest: key -> the values that each may use, with their kind."""


def _formats_of(hint: Any) -> frozenset[str]:
    """Formats that write a field of this type; none where it can't be written."""
    if hint == cmd.Command:
        return frozenset({"command"})
    if hint == tuple[cmd.Command, ...]:
        return frozenset({"commands"})
    kinds = [one for one in get_args(hint) if one is not NoneType] if NoneType in get_args(hint) else [hint]
    (kind,) = kinds if len(kinds) == 1 else (None,)
    if kind in (int, float):
        return _NUMBERS
    if kind in (str, Amount):
        return frozenset({"name" if kind is str else "amount"})
    return frozenset(name for name, values in LISTS.items() if values == get_args(kind))


def _fields_of(cls: type[Any]) -> dict[str, Collection[str]]:
    """The fields of an event or a command, with their formats; station time means nothing to a reader."""
    hints = get_type_hints(cls)
    return {one.name: _formats_of(hints[one.name]) for one in fields(cls) if one.name not in ("at", "joined")}


def _spelled(values: str) -> dict[str, Collection[str]]:
    pairs = (value.split(":") for value in values.split())
    return {name: _NUMBERS if kind == "number" else frozenset({kind}) for name, kind in pairs}


def wanted() -> dict[str, Mapping[str, Collection[str]]]:
    """Every wording that a language needs, with the values that it may use."""
    found: dict[str, Mapping[str, Collection[str]]] = {}
    for cls, row in TABLE.items():
        if row.line is not None:
            values = _fields_of(cls)
            kind = {"kind": frozenset({"entry"})} if "entry" in values else {}
            found[f"lines.{row.line}"] = values | kind
    for cls, detail in DETAILS.items():
        found |= {f"notes.{key}": _fields_of(cls) for key in detail.notes}
    found |= {f"commands.{name}": _fields_of(command) for name, command in cmd.COMMANDS.items()}
    found |= {f"words.{name}.{value}": {} for name, values in LISTS.items() for value in values}
    found |= {key: _spelled(values) for key, values in _OTHERS.items()}
    return found


class SheetWords(Wordings):
    """All words of the sheets in one language."""

    FILE = "sheets.toml"
    UNKNOWN = "no sheet has a wording for {key}"
    RETIRED = RETIRED

    @classmethod
    def wanted(cls) -> dict[str, Mapping[str, Collection[str]]]:
        """Every wording that a language needs, with the values that it may use."""
        return wanted()

    @property
    def formats(self) -> Mapping[str, Callable[[Any], str]]:
        """Format -> how it writes a value."""
        return {
            **super().formats,
            "number": lambda value: self._marked(formats.number(value)),
            "figure": lambda value: self._marked(formats.figure(value)),
            "one_decimal": lambda value: self._marked(formats.one_decimal(value)),
            "length": formats.length,
            "hours": lambda seconds: self._marked(formats.figure(seconds / 3600.0)),
            "degrees": lambda celsius: self._marked(formats.degrees(celsius)),
            "mass": self.mass,
            "percent": self.percent,
            "amount": lambda amount: self.text("units.amount", value=amount.value, unit=amount.unit),
            "command": self.command,
            "commands": lambda several: ", ".join(map(self.command, several)),
            "phrase": self.phrase,
            **{name: partial(self.word, name) for name in LISTS},
        }

    def _marked(self, digits: str) -> str:
        return digits.replace(".", self.text("units.decimal_mark"))

    def phrase(self, phrase: Phrase) -> str:
        """What a phrase says."""
        return self.text(phrase.key, **phrase.values)

    def kind(self, allergen: str, kind: str) -> str:
        """A kind of an allergen; a species as the kitchen wrote it, or as the language has it."""
        return self.text(f"allergens.nut.{kind}") if allergen == "nuts" else self.name(kind)

    def word(self, closed_list: str, value: str) -> str:
        """The word for a value of a closed list."""
        return self.text(f"words.{closed_list}.{value}")

    def allergen(self, word: str) -> str:
        """An allergen, or what has some that are not known: that is named itself."""
        return self.word("allergen", word) if word in ALLERGENS else self.name(word)

    def command(self, said: cmd.Command) -> str:
        """What a command asks for, in short: "water 150 g", "crumb ready"."""
        values = {one.name: getattr(said, one.name) for one in fields(said)}
        return self.text(f"commands.{cmd.tag_of(said)}", **values)

    def mass(self, grams: float) -> str:
        """A mass: "150 g", "307.6 g"."""
        return self.text("units.mass", value=grams)

    def percent(self, percent: float) -> str:
        """Hydration to one decimal: "31.0 %"."""
        return self.text("units.percent", value=percent)

    def decimal(self, value: float, places: int = 1) -> str:
        """A figure with so many decimals: "2.4"."""
        return self._marked(f"{value:.{places}f}")

    def clock(self, moment: Moment, zone: tzinfo | None) -> str:
        """Time of day, or that the clock was not set. `zone` None: the machine's own."""
        if not moment.wall_trusted:
            return self.text("clock.not_set")
        return formats.time_of_day(moment.wall, zone)

    def date_and_time(self, wall: float, *, trusted: bool, zone: tzinfo | None) -> str:
        """Date and time of day, and whether the clock was not set. `zone` None: the machine's own."""
        date = formats.date_and_time(wall, zone)
        return date if trusted else self.text("clock.date_not_set", date=date)
