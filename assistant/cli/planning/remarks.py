"""What has to be said beside a plan: what is late, what was not finished, what it takes. Pure."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta, tzinfo

from assistant.batch.record.state import State
from assistant.config.day_plan import DayPlan, plan_time
from assistant.dough.recipe import RecipePlan
from assistant.dough.shift_plan import PlannedBatch

MADE, OPEN, LATE, TO_DO = "made", "open", "late", "to do"


def local(wall: float, zone: tzinfo | None = None) -> datetime:
    """A wall time (s since 1970) on the kitchen's clock; zone None: the machine's."""
    return datetime.fromtimestamp(wall, UTC).astimezone(zone)


def service_day(service: str, now: datetime) -> str:
    """Day of the next service at this time of day: today, or tomorrow where that time has passed."""
    day = now if service >= f"{now:%H:%M}" else now + timedelta(days=1)
    return f"{day:%Y-%m-%d}"


def status(batch: PlannedBatch, plan: DayPlan, state: State, now: datetime) -> str:
    """Where a batch of the plan stands now."""
    if batch.key in state.made:
        return MADE
    if state.batch is not None and state.batch.planned == batch.key:
        return OPEN
    return LATE if _minutes_late(batch, plan, now) > 0 else TO_DO


def remarks(
    plan: DayPlan, state: State, now: datetime, recipes: Mapping[str, RecipePlan], before: DayPlan | None
) -> list[str]:
    """Lines below the table. `before`: the plan that this one takes the place of."""
    stand = [status(one, plan, state, now) for one in plan.batches]
    lines = [_service(plan, now), _takes(plan.batches, recipes)]
    if plan.learned:
        lines.append(_paced(plan))
    if LATE in stand:
        lines.append(
            f"This plan was for {plan.day}, and {stand.count(LATE)} of its batches were not made; plan anew."
            if plan.day is not None and plan.day < f"{now:%Y-%m-%d}"
            else _late(plan.batches[stand.index(LATE)], plan, now)
        )
    open_batch = state.batch
    if open_batch is not None and OPEN not in stand:
        lines.append(
            f"Batch {open_batch.number} is open and not of this plan: close it or drop it before the first."
        )
    left = (
        [one for one in before.batches if status(one, before, state, now) in (LATE, TO_DO)] if before else []
    )
    if before is not None and left:
        named = ", ".join(f"{named_pasta(one)} {one.flour_g:g} g" for one in left)
        lines.append(
            f"The plan before had {len(left)} of its {len(before.batches)} batches to make: {named}. "
            "They are planned no more; order them again if they are wanted."
        )
    return lines


def named_pasta(batch: PlannedBatch) -> str:
    """A batch's pasta, as "tagliatelle egg"."""
    return f"{batch.die} {batch.recipe or ''}".strip()


def _service(plan: DayPlan, now: datetime) -> str:
    day = f" on {plan.day}" if plan.day is not None and plan.day != f"{now:%Y-%m-%d}" else ""
    return (
        f"Service {plan.service}{day}. Plain, egg, coloured, then ink and fish; "
        "a changeover is no allergen clean."
    )


def _takes(batches: Sequence[PlannedBatch], recipes: Mapping[str, RecipePlan]) -> str:
    """Flour and additions of all batches."""
    grams: dict[str, float] = {}
    for one in batches:
        plan = recipes.get(one.recipe) if one.recipe else None
        for addition in plan.additions(one.flour_g) if plan else ():
            grams[addition.name] = grams.get(addition.name, 0.0) + addition.grams
    flour = sum(one.flour_g for one in batches)
    return (
        f"It takes {', '.join([f'{flour:g} g flour', *(f'{g:.0f} g {name}' for name, g in grams.items())])}."
    )


def _paced(plan: DayPlan) -> str:
    """By what each die puts through it was reckoned."""
    named = ", ".join(f"{die} {rate:.0f} g a minute" for die, rate in plan.learned.items())
    rest = {one.die for one in plan.batches} - plan.learned.keys()
    return f"Through the die as its last batches went: {named}{'; the rest by the settings' if rest else ''}."


def _late(batch: PlannedBatch, plan: DayPlan, now: datetime) -> str:
    through = datetime.fromisoformat(f"{plan.day}T{plan.service}") + timedelta(
        minutes=_minutes_late(batch, plan, now)
    )
    return (
        f"Late: {named_pasta(batch)} was to begin at {batch.start}, and it is {now:%H:%M}. Begun now, all is "
        f"through the die at {through:%H:%M}, not at {plan.service}; plan fewer portions, or a later service."
    )


def _minutes_late(batch: PlannedBatch, plan: DayPlan, now: datetime) -> int:
    """Minutes since a batch was to begin, below 0 before; 0 for a plan without a day, of an older version."""
    time = plan_time(plan, now)
    return 0 if time is None else int(time.late_s(batch) // 60)
