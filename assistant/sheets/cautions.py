"""Cautions printed on every sheet, each with who says so. They defer to the local code.

Status of a source: read, read in copies by others only, or not read.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """What to mind, and who says so."""

    text: str
    source: str


CAUTIONS = (
    Caution(
        "Flour has had no step that kills germs: do not taste raw dough; wash hands, tools and surfaces.",
        "Canadian Food Inspection Agency, guidance for makers of fresh pasta; FDA/CDC advice, read in copies",
    ),
    Caution(
        "Dough made at room temperature: down to 5 C (41 F) within 4 hours.",
        "US Food Code 3-501.14(B)",
    ),
    Caution(
        "Hold it cold at 5 C (41 F) or below. Your local code decides: it may ask for less or allow more.",
        "US Food Code 3-501.16, its figure read in adjoining clauses, the clause itself not read",
    ),
    Caution(
        "Wheat is in every batch. What else went in is not on this sheet: check allergens by your own list.",
        "US FASTER Act 2021; Reg. (EU) 1169/2011, Annex II",
    ),
    Caution(
        "A use-by of seven days, the day it was made the first, is this house's ceiling: the clause is for ready-to-eat "
        "food, which raw pasta is not. Your local code and your own shorter time count.",
        "US Food Code 3-501.17",
    ),
    Caution(
        "Raise no flour dust: mix slowly until it is wet; no brushing, vacuum or wipe wet.",
        "UK Health and Safety Executive, bakers' pages",
    ),
    Caution(
        "Where one must shout at arm's length it is too loud for a whole shift: have it measured.",
        "29 CFR 1910.95: action level 85 dBA over eight hours; the arm's length is common practice",
    ),
    Caution(
        "Machine off and unplugged, plug in your own control, before lid, die or cleaning.",
        "29 CFR 1910.147",
    ),
    Caution(
        "This sheet replaces no HACCP record, guard or allergen check, and its weights are not legal for trade.",
        "crumbcall is certified to no hygiene, safety or weighing standard",
    ),
)
