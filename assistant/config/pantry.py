"""Water content of ingredients: the table that ships, and the kitchen's own figures, which count more.

Ships: `data/water_content.csv`, each row with its source (USDA National Nutrient Database for Standard
Reference, release 28, in the public domain; two rows from papers). The kitchen's: `ingredients.csv` beside
its settings, with the columns name and water_g_per_100g, and any others.
"""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Self

from assistant.config.allergens.known import OWN_FILE as OWN_ALLERGENS
from assistant.config.allergens.known import KnownAllergens
from assistant.config.allergens.known import tidy_name as tidy
from assistant.config.toml_words import did_you_mean, shown
from assistant.dough.ingredients import Addition
from assistant.errors import DoughError, SettingsError

SHIPPED = Path(__file__).parent / "data" / "water_content.csv"
OWN_FILE = "ingredients.csv"
_COLUMNS = ("name", "water_g_per_100g")


@dataclass(frozen=True, slots=True)
class WaterContent:
    """Water of an ingredient (g per 100 g) and where the figure comes from."""

    name: str
    water_pct: float
    source: str


class Pantry:
    """Ingredients by name."""

    def __init__(self, known: Mapping[str, WaterContent], allergens: KnownAllergens | None = None) -> None:
        self._known = dict(known)
        self.allergens = KnownAllergens.load() if allergens is None else allergens
        """What each of them, and each flour, has of the allergens."""

    @classmethod
    def load(cls, *own: Path) -> Self:
        """The table that ships, then those of the files that exist; later ones win. Raises SettingsError.

        The kitchen's allergens are in `allergens.toml` beside them.
        """
        known: dict[str, WaterContent] = {}
        for file in (SHIPPED, *own):
            if file == SHIPPED or file.exists():
                known |= {row.name: row for row in read_table(file)}
        return cls(known, KnownAllergens.load(*(file.parent / OWN_ALLERGENS for file in own)))

    def __iter__(self) -> Iterator[WaterContent]:
        return iter(sorted(self._known.values(), key=lambda row: row.name))

    def water_pct(self, name: str) -> float:
        """Water content (%) of an ingredient. Raises DoughError where it is not known."""
        return self.find(name).water_pct

    def find(self, name: str) -> WaterContent:
        """An ingredient by its name. Raises DoughError where it is not known."""
        found = self._known.get(tidy(name))
        if found is None:
            raise DoughError(
                f"{shown(name)} is not an ingredient that is known; {did_you_mean(tidy(name), self._known)} "
                f"Else give its water content, or add it to {OWN_FILE}."
            )
        return found

    def addition(self, name: str, grams: float, water_pct: float | None = None) -> Addition:
        """An addition of `grams` of an ingredient. `water_pct`: as measured; None: as in the table."""
        water = self.water_pct(name) if water_pct is None else water_pct
        return Addition(tidy(name), grams, water)


def read_table(file: Path) -> list[WaterContent]:
    """Rows of a table of water contents. Raises SettingsError (one line) where it can't be read or used."""
    try:
        text = file.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise SettingsError(
            f"{file} can't be read ({error.strerror}); make it readable or move it away."
        ) from error
    except UnicodeDecodeError as error:
        raise SettingsError(f"{file} is not UTF-8 text (byte {error.start}); save it as UTF-8.") from error
    try:
        table = list(csv.reader(text.splitlines(), strict=True))
    except csv.Error as error:
        raise SettingsError(f"{file} is not CSV: {error}; mend it, or move it away.") from error
    head = [cell.strip() for cell in table[0]] if table else []
    lacking = [column for column in _COLUMNS if column not in head]
    if lacking:
        raise SettingsError(
            f"{file}: its first line is {','.join(head) or 'empty'}; write name,water_g_per_100g there."
        )
    rows = []
    for line, cells in enumerate(table[1:], 2):
        if any(cell.strip() for cell in cells):
            rows.append(_row(file, line, dict(zip(head, cells, strict=False))))
    return rows


def _row(file: Path, line: int, cells: Mapping[str, str]) -> WaterContent:
    name, found = tidy(cells.get("name", "")), cells.get("water_g_per_100g", "").strip()
    if not name:
        raise SettingsError(
            f"{file} line {line}: no name; write one before the first comma, or remove the line."
        )
    try:
        water = float(found)
    except ValueError:
        water = float("nan")
    if not 0 <= water <= 100:
        raise SettingsError(
            f"{file} line {line}: water_g_per_100g of {name} = {found or 'nothing'}, allowed is a number "
            "from 0 to 100; change it, or remove the line."
        )
    return WaterContent(name, water, cells.get("source", "").strip() or f"the kitchen's own, {file.name}")
