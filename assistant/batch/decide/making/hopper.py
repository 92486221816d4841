"""What goes into the hopper besides flour and water, and what is taken out of it again."""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.additions import ask_addition, by_recipe, is_waited_for
from assistant.batch.decide.making.entering import asked_first, grams_of, plausible
from assistant.batch.decide.making.marks import first_look_reached, say_marks, say_rescue
from assistant.batch.record.batch import HALF_GRAM, Batch, Standing
from assistant.batch.record.commands import AddAddition, LeaveOut, TookOut
from assistant.batch.record.hopper import hopper_events as hop
from assistant.batch.record.hopper.entries import OUT, EntryKind
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import LEAST_FLOUR_G
from assistant.dough.amounts import Amount


def not_in_this_recipe(d: Draft, command: AddAddition | LeaveOut) -> bool:
    """Whether the open batch has no such addition; says so.

    By voice only where its recipe has others: "again" sounds like "egg in", and talk is left alone.
    """
    plan = d.batch.plan
    if by_recipe(d.batch, command.ingredient) is not None:
        return False
    if d.source in ("keyboard", "screen") or (plan is not None and plan.shares):
        d.say("addition_unknown", ingredient=command.ingredient)
    return True


def add_addition(d: Draft, command: AddAddition) -> None:
    """Log an addition, as much as was said or as the recipe says; one that is in already only with a yes."""
    batch = d.batch
    one = by_recipe(batch, command.ingredient)
    if one is None:
        return
    amount = command.amount or Amount(one.grams, exact=True)
    grams = plausible(d, batch, amount)
    if grams is None:
        return
    sure = AddAddition(one.name, amount)
    waited_for = is_waited_for(batch, one.name)
    if not (waited_for or d.confirmed or one.name in batch.left_out):
        d.ask("in_already", sure, "ask_in_already", grams=grams, ingredient=one.name)
        return
    if d.doubtful:
        d.ask("unsure", sure, "ask_addition", grams=grams, ingredient=one.name)
        return
    counted = one.grams if waited_for else None
    if asked_first(d, batch, sure, amount, grams, "addition", instead_of=counted, water_pct=one.water_pct):
        return
    d.happen(
        hop.AdditionAdded(
            at=d.now,
            entry=d.state.next_entry,
            grams=grams,
            name=one.name,
            water_pct=one.water_pct,
            source=d.source,
        )
    )
    d.say("addition_in", "taken", grams=grams, ingredient=one.name)
    _say_what_follows(d)


def leave_out(d: Draft, command: LeaveOut) -> None:
    """Wait for an addition no more: what it would have brought is poured instead."""
    batch = d.batch
    one = by_recipe(batch, command.ingredient)
    if one is None:
        return
    if not is_waited_for(batch, one.name):
        d.say("addition_settled", ingredient=one.name)
        return
    d.happen(hop.AdditionLeftOut(at=d.now, name=one.name))
    d.say("addition_left_out", "taken", ingredient=one.name)
    _say_what_follows(d)


def _say_what_follows(d: Draft) -> None:
    """The next addition, else what is to be poured; nothing where more was said in the same breath."""
    if d.then or ask_addition(d):
        return
    batch = d.batch
    if batch.to_first_pour_g > HALF_GRAM and not batch.looked:
        d.say("first_pour", grams=batch.to_first_pour_g)
    else:
        # Where the first look was reached before, this was asked instead of calling the mix.
        say_marks(d, looked_before=False)


def take_out(d: Draft, command: TookOut) -> None:
    """Log what was taken out of the hopper again.

    Mixed dough takes flour, water and additions with it in their shares. Without any water it is flour. Of
    what was never mixed nobody knows how much of each came out: then it is asked whether it was mixed.
    """
    batch = d.batch
    grams = grams_of(command.amount, d.rules)
    if not grams > 0:
        d.say("amount_zero")
        return
    what = command.what
    if what is None:
        only_flour = batch.product_g - batch.flour_g <= HALF_GRAM
        if not batch.mixed and not only_flour:
            d.ask("unmixed", TookOut(command.amount, "dough"), "ask_mixed", grams=grams)
            return
        what = "flour" if only_flour else "dough"
    kind = OUT[what]
    if more_than_is_in(d, batch, grams, kind):
        return
    if asked_first(d, batch, TookOut(command.amount, what), command.amount, grams, kind):
        return
    d.happen(hop.TakenOut(at=d.now, entry=d.state.next_entry, grams=grams, what=what, source=d.source))
    d.say("taken_out", "taken", grams=grams, what=what)
    say_after_taking_out(d, kind)


def more_than_is_in(d: Draft, batch: Batch, grams: float, kind: EntryKind) -> bool:
    """Whether more is said to be out than can be, a batch being left; says so."""
    most = batch.contents.most_out_g(kind, LEAST_FLOUR_G)
    if grams <= most + HALF_GRAM:
        return False
    d.say("taken_too_much", grams=grams, most=most)
    return True


def say_after_taking_out(d: Draft, kind: EntryKind) -> None:
    """What the rest of the batch wants; dough that was ready stays so, and is not spoken of."""
    batch = d.batch
    if kind != "dough_out":
        say_marks(d, looked_before=first_look_reached(batch), moved=True)
    elif batch.phase not in (Phase.READY, Phase.EXTRUDING):
        if batch.standing is Standing.SHORT and not batch.held:
            d.say("left", grams=batch.left_g)
        elif batch.standing is Standing.OVER_HIGH:
            say_rescue(d, batch)
