"""An invented kitchen for `flour_year.py`: its lots, its batches, its cooks, as they truly are.

Lots differ by their moisture (1.52 points of hydration a point: mass balance) and by character, seasons swing
as a sine, batches scatter with heavier tails than a normal, one batch in seventy is misweighed, and a squeeze
errs. A crumb is ready for 0.8 to 1.2 points beyond its end. What a row adds to that is in its fields.
"""

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from assistant.dough.evidence import Finding

WINDOW = (0.8, 1.2)
WINDOW_MEAN = 1.0
STORE_DAYS = 14.0
"""How slowly a sack follows the air (days, time constant)."""
MOISTURE_BY_AIR = 0.15
"""Points of moisture that flour in a store takes for a point of humidity: a straight line, no isotherm."""
MARKS = {"semolina": (30.0, 31.0, 33.0), "wholegrain": (31.5, 33.0, 35.0)}
"""Low, target and high of each flour: those of the recipes that ship."""


@dataclass(frozen=True)
class Row:
    """What a kitchen is like."""

    cooks: tuple[tuple[str | None, float], ...] = ((None, 0.0),)
    """Who judges, in turn, and how late (points)."""
    wrong: float = 0.0
    """Share of squeezes that are misjudged by a point or so."""
    moving: float = 0.2
    """Share of lots that dry or take up damp while they are open, slowly."""
    jumps: float = 0.0
    """Share of lots that move at once, up or down."""
    jump: float = 1.0
    """How far (points)."""
    jump_days: float = 2.0
    """How long that takes them (days)."""
    unsqueezed: float = 0.0
    """Share of batches that are closed without a squeeze."""
    suppliers: tuple[tuple[str, float], ...] = (("", 0.0),)
    """Who delivers, and by how much (points) their flour wants more."""
    told: bool = False
    """Whether the cook tells the humidity of the air."""
    air: float = 0.0
    """What ten points of humidity more move a batch by (points)."""
    store: float = 0.0
    """Share of the way to the air's moisture that flour has gone when its sack is opened (0 to 1)."""
    why_not: str = ""
    """Why a goal is missed here, where one is; see `flour_year`."""


SCATTER = (
    *((69 / 70 / 8, spread) for spread in (0.200, 0.117, 0.089, 0.072, 0.060, 0.051, 0.042, 0.033)),
    (1 / 70, 2.3),
)
"""The same for who knows it: how batches scatter, as normals (share, variance), damp spells counted.

Eighths of the tails of `year` by the gamma distribution behind them, and its misweighed batches.
"""
COOK_BIAS = 0.5
ROWS = {
    "as the model": Row(),
    "one cook of three judges late": Row(cooks=(("a", 0.0), ("b", 0.0), ("c", COOK_BIAS))),
    "the only cook judges late": Row(
        cooks=((None, COOK_BIAS),),
        why_not="no verdict tells a cook who alone judges, and late, from flour that wants more; what is "
        "foretold is where that cook calls the crumb ready",
    ),
    "heavy tails": Row(wrong=0.06),
    "drift": Row(jumps=0.5),
    "unsqueezed closes": Row(unsqueezed=0.4),
    "three suppliers": Row(suppliers=(("a", -0.8), ("b", 0.0), ("c", 0.8))),
    "humid days are told": Row(told=True, air=-0.2),
    "told, and the flour follows its store": Row(told=True, store=0.4),
    "told, and nothing follows": Row(told=True),
}


@dataclass(frozen=True)
class Batch:
    """One batch of the year."""

    day: float
    """When it is made (days since 1970)."""
    flour: str
    lot: str
    supplier: str
    mean: float
    """What its lot wants on this day (% hydration)."""
    moved: float
    """Share of its lot's jump that is over: 0 to 1; 0 where the lot does not jump."""
    scatter: float
    """Standard deviation of batches around it (points)."""
    end: float
    """Hydration (%) at which its crumb becomes ready."""
    seed: int
    """Seeds the cook's hand, so that every way to pour meets the same one."""
    cook: str | None
    bias: float
    wrong: float
    unsqueezed: bool
    humidity_pct: float | None


@dataclass
class _Open:
    """A lot that is open."""

    lot: str
    supplier: str
    mean: float
    opened: float
    drift: float
    jump_day: float
    jump: float
    left: int


def year(row: Row, seed: int) -> Iterator[Batch]:
    """Batches of a year: 300 days of two or three, two flours in turn, some sixteen batches a lot."""
    luck = random.Random(seed)
    base = {flour: luck.gauss(target + 0.2, 0.4) for flour, (_, target, _) in MARKS.items()}
    lots: dict[str, _Open] = {}
    count = number = 0
    damp, stored = 0.0, 60.0
    for day in range(20_000, 20_300):
        damp = 0.8 * damp + luck.gauss(0, 0.06)
        humid = min(90.0, max(25.0, 60.0 + 12.0 * math.sin(day / 9.0) + luck.gauss(0, 8.0)))
        stored += (humid - stored) / STORE_DAYS
        for _ in range(luck.choice((2, 2, 3))):
            flour = luck.choices(list(MARKS), (0.7, 0.3))[0]
            if flour not in lots or lots[flour].left == 0:
                count += 1
                lots[flour] = _delivered(row, luck, base[flour], str(count), float(day))
                lots[flour].mean -= 1.52 * row.store * MOISTURE_BY_AIR * (stored - 60.0)
            lot = lots[flour]
            lot.left -= 1
            mean = lot.mean + lot.drift * (day - lot.opened) + 0.3 * math.sin(day * 2 * math.pi / 365) + damp
            gone = (day + 1e-6 - lot.jump_day) / max(row.jump_days, 1e-6)
            mean += lot.jump * min(1.0, max(0.0, gone))
            mean += row.air * (humid - 60.0) / 10.0
            end = mean + 0.22 * luck.gauss(0, 1) / math.sqrt(luck.gammavariate(2.5, 1 / 2.5))
            if luck.random() < 1 / 70:
                end += luck.choice((-1.5, 1.5))
            name, bias = row.cooks[luck.randrange(len(row.cooks))]
            yield Batch(
                day=float(day) + luck.random() * 0.3,
                flour=flour,
                lot=lot.lot,
                supplier=lot.supplier,
                mean=mean,
                moved=min(1.0, max(0.0, gone)) if lot.jump else 0.0,
                scatter=0.22 * math.sqrt(5 / 3),
                end=end,
                seed=luck.randrange(1 << 30),
                cook=name,
                bias=bias,
                wrong=row.wrong,
                unsqueezed=luck.random() < row.unsqueezed,
                humidity_pct=humid if row.told else None,
            )
            number += 1


def _delivered(row: Row, luck: random.Random, base: float, lot: str, day: float) -> _Open:
    """A new lot."""
    supplier, more = luck.choice(row.suppliers)
    mean = base + more - 1.52 * luck.gauss(0.0, 0.4) + luck.gauss(0, 0.3)
    drift = luck.choice((0.03, -0.03)) if luck.random() < row.moving else 0.0
    jump = luck.choice((row.jump, -row.jump)) if luck.random() < row.jumps else 0.0
    return _Open(lot, supplier, mean, day, drift, day + luck.uniform(2.0, 8.0), jump, luck.randint(12, 20))


def judged(batch: Batch) -> Callable[[float], Finding]:
    """The hand that squeezes this batch: hydration (%) -> verdict."""
    hand = random.Random(batch.seed)
    window = hand.uniform(*WINDOW)

    def verdict(now: float) -> Finding:
        error = hand.gauss(0, 0.12)
        if hand.random() < batch.wrong:
            error = hand.gauss(0, 1.0)
        felt = now + error - batch.bias
        if felt < batch.end:
            return "dry"
        return "ready" if felt <= batch.end + window else "wet"

    return verdict
