"""What is looked at before an amount enters the account: if it can be meant, and if it is asked about."""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.marks import over_hopper_g
from assistant.batch.decide.making.mishearing import is_said_again, may_be_its_twin, reaches_a_mark
from assistant.batch.record.batch import HALF_GRAM, Batch
from assistant.batch.record.commands import AddAddition, AddFlour, AddWater, MakeThat, Scrap, TookOut
from assistant.batch.record.hopper.entries import EntryKind
from assistant.batch.record.rules import BatchRules
from assistant.dough.amounts import Amount, density_g_per_ml
from assistant.dough.hydration import water_for_g

Entering = AddWater | AddFlour | AddAddition | Scrap | TookOut | MakeThat
"""Commands that put an amount into the account, or change one."""


LEAST_POUR_G = 10.0
"""Less water than this (g) is hardly meant: "add five" may have been minutes."""


def grams_of(amount: Amount, rules: BatchRules) -> float:
    """Mass of a said amount (g); volumes as water of the kitchen's temperature."""
    return amount.grams(density_g_per_ml(rules.water_temperature_c))


def plausible(d: Draft, batch: Batch, amount: Amount) -> float | None:
    """Grams of an amount that can be meant; says so and returns None where it can't."""
    grams = grams_of(amount, d.rules)
    if not grams > 0:
        d.say("amount_zero")
        return None
    if grams > batch.hopper_g:
        d.say("amount_too_much", grams=grams, hopper=batch.hopper_g)
        return None
    return grams


def asked_first(
    d: Draft,
    batch: Batch,
    command: Entering,
    amount: Amount,
    grams: float,
    kind: EntryKind,
    *,
    instead_of: float | None = None,
    water_pct: float = 0.0,
) -> bool:
    """Whether a question was opened instead of logging this mass.

    `instead_of`: mass (g) that is counted already, of an entry that is corrected or an addition to come;
    `water_pct`: water content of an addition.
    """
    if d.confirmed or (d.source == "jug" and not d.unsure):
        return False
    more, before = grams - (instead_of or 0.0), -batch.to_pour_g(batch.high_pct)
    over = before
    if kind == "water":
        over += more
    elif kind == "flour":
        over -= water_for_g(1.0, batch.high_pct) * more
    elif kind == "addition":
        over += more * water_pct / 100.0
    over_hopper = over_hopper_g(batch, more) if kind == "flour" and more > 0 else 0.0
    if over > HALF_GRAM and over > before:
        d.ask("past_high", command, "ask_past_high", grams=grams, over=over)
    elif over_hopper > HALF_GRAM:
        d.ask("over_hopper", command, "ask_over_hopper", grams=grams, over=over_hopper)
    elif instead_of is None and is_said_again(d, batch, grams, kind):
        d.ask("same_pour", command, "ask_again", grams=grams)
    elif may_be_its_twin(d, amount, grams, batch, kind, instead_of=instead_of):
        d.ask("twin", command, "ask_twin", grams=grams)
    elif d.unsure or (kind == "water" and _is_hardly_a_pour(batch, grams)):
        d.ask("unsure", command, "ask_unsure_amount", grams=grams)
    else:
        return False
    return True


def _is_hardly_a_pour(batch: Batch, grams: float) -> bool:
    """Whether so little water (g) would be a surprise: no mark asks for it, and no dry crumb."""
    return grams < LEAST_POUR_G and batch.crumb != "dry" and not reaches_a_mark(batch, grams)
