"""How far a scale may be off, and how much hydration that is. Masses in g; errors are the most permitted.

A bench scale of a kitchen is bound by none of this unless it weighs for sale: it says what a scale of a class
can do.
"""

from assistant.dough.hydration import hydration_pct
from assistant.dough.ranges import FLOUR_G
from assistant.errors import DoughError

CLASS_III_STEPS = ((500.0, 0.5), (2000.0, 1.0), (10_000.0, 1.5))
"""Class III: up to this many verification intervals e, the initial error in e: SI 1995/1907 (read). A load
cell of class C has the same steps in its intervals v: OIML R 60-1 table 4 (from memory)."""
IN_SERVICE = 2.0
"""In service the error may be twice the initial: SI 1995/1907 (read)."""
HB44_STEPS = ((500.0, 1.0), (2000.0, 2.0), (4000.0, 3.0), (10_000.0, 5.0))
"""NIST Handbook 44 section 2.20 table 6, class III: up to this many divisions, the maintenance tolerance in
divisions. The last two rows were read in a forum that quotes them, the first two are from memory."""
CELL_SHARE = 0.7
"""Share of the scale's error that a load cell may have: OIML R 60-1 5.5.1 (read)."""
CREEP_SHARE, CREEP_LATE_SHARE = 0.7, 0.15
"""Creep in 30 minutes, and from the 20th to the 30th, as shares of the cell's error: OIML R 60-1 5.5.1
(read)."""


def class_iii_error_g(load_g: float, interval_g: float, *, in_service: bool = False) -> float:
    """Most error (g) of a class III scale with this verification interval (g) at a load (g).

    Raises DoughError.
    """
    initial = _steps(CLASS_III_STEPS, load_g, interval_g) * interval_g
    return initial * IN_SERVICE if in_service else initial


def hb44_tolerance(load: float, division: float) -> float:
    """Maintenance tolerance of a US class III scale, in the unit of its load and its division.

    Raises DoughError.
    """
    return _steps(HB44_STEPS, load, division) * division


def cell_error(load_v: float) -> float:
    """Most error of a class C load cell at a load, both in its intervals v. Raises DoughError."""
    return CELL_SHARE * _steps(CLASS_III_STEPS, load_v, 1.0)


def cell_creep(load_v: float) -> tuple[float, float]:
    """Most creep in 30 minutes, and from the 20th to the 30th, in intervals v. Raises DoughError."""
    return CREEP_SHARE * cell_error(load_v), CREEP_LATE_SHARE * cell_error(load_v)


def hydration_error_points(flour_g: float, error_g: float) -> float:
    """Points of hydration by which an error (g) in the water moves the dough."""
    return hydration_pct(error_g, FLOUR_G.check(flour_g))


def _steps(table: tuple[tuple[float, float], ...], load: float, interval: float) -> float:
    if not (interval > 0 and load >= 0):
        raise DoughError(
            f"load {load:g} on a scale in steps of {interval:g}: both are above 0; write them so."
        )
    for most, error in table:
        if load / interval <= most + 1e-9:
            return error
    raise DoughError(
        f"load {load:g} on a scale in steps of {interval:g}: class III has up to {table[-1][0]:g} steps; "
        "give a coarser scale."
    )
