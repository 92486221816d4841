"""The day's plan in the batch: which batch comes next, and what it takes."""

from assistant.batch.decide.draft import Draft
from assistant.batch.record.events import RecipeChosen
from assistant.dough.shift_plan import PlannedBatch


def next_planned(d: Draft) -> PlannedBatch | None:
    """The first batch of the plan that is neither made nor open."""
    begun = {*d.state.made, d.state.batch.planned if d.state.batch else None}
    return next((one for one in d.known.plan if one.key not in begun), None)


def planned_for(d: Draft, flour_g: float) -> PlannedBatch | None:
    """The plan's next batch, where a batch of so much flour (g) is that one."""
    planned = next_planned(d)
    return planned if planned is not None and abs(planned.flour_g - flour_g) < 1.0 else None


def choose_recipe(d: Draft, planned: PlannedBatch) -> None:
    """Take the planned batch's recipe, where the cook named none."""
    plan = d.known.recipes.get(planned.recipe) if planned.recipe else None
    if plan is not None and d.state.next_plan is None:
        d.happen(RecipeChosen(d.now, plan))


def say_planned(d: Draft) -> bool:
    """Say the plan's next batch; whether there is one."""
    planned = next_planned(d)
    if planned is None:
        return False
    pasta = f"{planned.recipe} {planned.die}" if planned.recipe else planned.die
    d.say("next_planned", die=pasta, flour=planned.flour_g, start=planned.start)
    return True
