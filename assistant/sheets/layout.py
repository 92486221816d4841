"""A sheet as plain text and as Markdown. Pure; times of day are of `zone`, None: the machine's own.

A line that was corrected or taken back stays, and is marked in the column "void".
"""

from collections.abc import Sequence
from datetime import tzinfo
from typing import Any

from assistant.batch.record.clocks.food_rules import FoodRules
from assistant.dough.calculators.die_heat import learned_energy
from assistant.dough.flour.granulation import is_coarse
from assistant.sheets import formats
from assistant.sheets.allergens import REGIONS, KitchenAllergens
from assistant.sheets.sheet import Moment, Sheet, SheetLine
from assistant.sheets.wording import CAUTIONS, SheetWords

_COLUMNS = ("time", "since", "void", "what", "by", "hydration", "notes")
_RIGHT = frozenset({1, 5})


def sheet_text(
    sheet: Sheet, words: SheetWords, zone: tzinfo | None = None, *, kitchen: KitchenAllergens | None = None
) -> str:
    """Plain text. `kitchen` None: only the allergens that ship are known."""
    found = facts_of(sheet, words, zone)
    width = max(len(label) for label, _ in found)
    facts = [f"{label + ':':<{width + 1}} {value}" for label, value in found]
    rows = [head_of(words), *(cells_of(line, words, zone) for line in sheet.lines)]
    cautions = [f"- {text} ({source})" for text, source in cautions_of(sheet, words, kitchen)]
    return "\n".join([title_of(sheet, words), "", *facts, "", *columns(rows, _RIGHT), "", *cautions, ""])


def sheet_markdown(
    sheet: Sheet, words: SheetWords, zone: tzinfo | None = None, *, kitchen: KitchenAllergens | None = None
) -> str:
    """Markdown. `kitchen` None: only the allergens that ship are known."""
    facts = [f"- {label}: {escaped(value)}" for label, value in facts_of(sheet, words, zone)]
    rule = ["---:" if index in _RIGHT else "---" for index in range(len(_COLUMNS))]
    rows = [[escaped(cell) for cell in cells_of(line, words, zone)] for line in sheet.lines]
    table = [f"| {' | '.join(cells)} |" for cells in (head_of(words), rule, *rows)]
    cautions = [f"- {text} *({source})*" for text, source in cautions_of(sheet, words, kitchen)]
    mind = f"## {words.text('sheet.mind')}"
    return "\n".join([f"# {title_of(sheet, words)}", "", *facts, "", *table, "", mind, "", *cautions, ""])


def title_of(sheet: Sheet, words: SheetWords) -> str:
    """The title."""
    return words.text("sheet.title", number=sheet.number)


def head_of(words: SheetWords) -> list[str]:
    """The heads of the columns."""
    return [words.text(f"sheet.head.{name}") for name in _COLUMNS]


def cautions_of(sheet: Sheet, words: SheetWords, kitchen: KitchenAllergens | None) -> list[tuple[str, str]]:
    """What to mind, and who says so."""
    found = (kitchen or KitchenAllergens()).of(sheet)
    none = words.text("allergens.none")
    eu, us = (", ".join(found.declared(region, words)) or none for region in REGIONS)
    unknown = ", ".join(map(words.name, found.unknown)) or None
    food = food_values(sheet.food_rules, words)
    values = {"allergens": {"eu": eu, "us": us, "unknown": unknown}, "down_to_cold": food}
    texts = {name: words.text(f"cautions.{name}.text", **values.get(name, {})) for name in CAUTIONS}
    sources = {"down_to_cold": food}
    return [
        (text, words.text(f"cautions.{name}.source", **sources.get(name, {}))) for name, text in texts.items()
    ]


def food_values(food: FoodRules, words: SheetWords) -> dict[str, Any]:
    """What a wording may use of the rules of food safety."""
    return {
        "celsius": food.celsius,
        "cold_s": food.cold_s,
        "clean_s": food.clean_s,
        "authority": food.authority,
        "source": food.source or words.text("facts.own_plan"),
    }


def facts_of(sheet: Sheet, words: SheetWords, zone: tzinfo | None) -> list[tuple[str, str]]:
    """What is above the lines: label and value."""
    text, mass = words.text, words.mass
    facts = [
        ("opened", _when(sheet.opened, words, zone)),
        ("ended", _ended(sheet, words, zone)),
        ("lot", sheet.lot or text("facts.no_lot")),
    ]
    if sheet.station:
        facts.append(("station", sheet.station))
    if sheet.recipe is not None:
        named = ", ".join(words.word("allergen", one) for one in sheet.allergens)
        allergens = named or text("facts.no_allergens")
        facts.append(("recipe", text("facts.recipe", recipe=sheet.recipe, allergens=allergens)))
    if sheet.granulation is not None:
        coarse = is_coarse(sheet.granulation)
        facts.append(("grain", text("facts.grain", micrometres=sheet.granulation, coarse=coarse)))
    if sheet.carried_over:
        carried = ", ".join(map(words.allergen, sheet.carried_over))
        facts.append(("carried_over", text("facts.carried_over", allergens=carried)))
    facts += [
        (
            "addition",
            text("facts.addition", grams=one.grams, ingredient=one.name, water_g=one.water_g),
        )
        for one in sheet.additions
    ]
    facts += [
        ("to_come", text("facts.to_come", grams=one.grams, ingredient=one.name)) for one in sheet.to_come
    ]
    marks = {"target_pct": sheet.target_pct, "low_pct": sheet.low_pct, "high_pct": sheet.high_pct}
    facts += [
        ("target", text("facts.target", **marks)),
        ("flour", mass(sheet.flour_g)),
        ("water", _water(sheet, words)),
        ("hydration", words.percent(sheet.hydration_pct)),
    ]
    if sheet.out_g:
        facts.append(("taken_out", text("facts.taken_out", grams=sheet.out_g, flour_g=sheet.out_flour_g)))
    facts += [
        ("dough", mass(sheet.dough_g)),
        ("scrap", mass(sheet.scrap_g)),
        ("net", text("facts.net", net_g=sheet.net_g, yield_pct=sheet.yield_pct)),
        ("crumb", words.word("crumb", sheet.crumb) if sheet.crumb else text("facts.no_crumb")),
    ]
    if sheet.extruded_early is not None:
        early = "facts.extruded_early" if sheet.extruded_early else "facts.extruded_ready"
        facts.append(("extruded", text(early)))
    facts += _clocks(sheet, words, zone)
    facts.append(("die", ", ".join(sheet.dies) or text("facts.no_die")))
    facts += _press(sheet, words)
    facts.append(("trays", str(sheet.trays)))
    facts.append(("portions", str(sheet.portions)))
    if not sheet.certain:
        facts.append(("times", text("facts.times_uncertain")))
    elif sheet.clock_told:
        facts.append(("times", text("facts.times_told")))
    outcome = words.word("outcome", sheet.outcome)
    return [(outcome if label == "ended" else text(f"facts.label.{label}"), value) for label, value in facts]


def _press(sheet: Sheet, words: SheetWords) -> list[tuple[str, str]]:
    """What the die put through, and how warm."""
    run, found = None if sheet.food is None else sheet.run, list[tuple[str, str]]()
    if run is not None and run.plausible:
        values = {"g_per_min": round(run.g_per_min), "seconds": run.seconds}
        found.append(("pace", words.text("facts.pace", **values)))
    if run is not None and run.exit_c is not None:
        energy = learned_energy(run.energies)
        kj = None if energy is None else round(energy.kj_per_kg)
        found.append(("heat", words.text("facts.heat", celsius=run.exit_c, kj_per_kg=kj)))
    return found


def _clocks(sheet: Sheet, words: SheetWords, zone: tzinfo | None) -> list[tuple[str, str]]:
    """When the dough has to be cold, and the machine clean."""
    if sheet.food is None:
        return []
    food, found = food_values(sheet.food_rules, words), list[tuple[str, str]]()
    for name, at in (("cold_by", sheet.cold_by), ("clean_by", sheet.clean_by)):
        if at is not None:
            found.append((name, words.text(f"facts.{name}", when=_when(at, words, zone), **food)))
    return found or [("cold_by", words.text("facts.never_wet"))]


def _water(sheet: Sheet, words: SheetWords) -> str:
    """Water in all; poured and carried apart, where additions were told one by one."""
    if not sheet.carried_g:
        return words.mass(sheet.water_g)
    names = dict.fromkeys(words.name(one.name) for one in sheet.additions if one.water_g > 0)
    return words.text(
        "facts.water_split",
        water_g=sheet.water_g,
        poured_g=sheet.water_g - sheet.carried_g,
        carried_g=sheet.carried_g,
        names=", ".join(names),
    )


def _when(moment: Moment, words: SheetWords, zone: tzinfo | None) -> str:
    return words.date_and_time(moment.wall, trusted=moment.wall_trusted, zone=zone)


def _ended(sheet: Sheet, words: SheetWords, zone: tzinfo | None) -> str:
    if sheet.ended is None:
        return words.text("facts.not_ended")
    when = _when(sheet.ended, words, zone)
    return words.text("facts.ended", when=when, seconds=sheet.ended.since_s)


def cells_of(line: SheetLine, words: SheetWords, zone: tzinfo | None) -> list[str]:
    """The cells of a line."""
    return [
        words.clock(line.moment, zone),
        formats.length(line.moment.since_s),
        words.text("sheet.void") if line.struck else "",
        words.phrase(line.what),
        "" if line.source is None else words.word("source", line.source),
        "" if line.hydration_pct is None else words.percent(line.hydration_pct),
        "; ".join(words.phrase(note) for note in line.notes),
    ]


def escaped(cell: str) -> str:
    """A cell that can't break its table: names come from whoever speaks or types."""
    return cell.replace("\\", "\\\\").replace("|", "\\|").replace("\n", " ")


def columns(rows: Sequence[Sequence[str]], right: frozenset[int]) -> list[str]:
    """Rows of cells as aligned lines, two blanks between; `right`: columns that are set to the right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    line = "  ".join(f"{{:{'>' if at in right else '<'}{width}}}" for at, width in enumerate(widths))
    return [line.format(*row).rstrip() for row in rows]
