"""Walk-throughs: spoken step by step, logged as the cook says that they were done.

The station never says that it is safe to reach in. A step that is there for safety is done or skipped in so many
words: "next" does not pass it, and a skip is said back.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.record import shift_events as sh
from assistant.batch.record.commands import Walk, WalkMove

RESUMED_WITHIN_S = 3600.0
"""One that was left longer ago (s) begins anew: by then nobody knows what was switched since."""


def begin(d: Draft, command: Walk) -> None:
    """Begin a walk-through, or go on where it was left."""
    walking, told = d.state.walk, d.known.walks.get(command.walk)
    if walking is not None and walking.name == command.walk:
        say_step(d)
        return
    left = next((one for one in d.state.walks if one.name == command.walk and one.left_at is not None), None)
    goes_on = left is not None and d.now - (left.left_at or 0.0) <= RESUMED_WITHIN_S
    if told is None and not goes_on:
        d.say("walk_unknown", walk=command.walk)
        return
    if d.unsure and not d.confirmed:
        d.ask("unsure", command, "ask_unsure", said=d.text)
        return
    if walking is not None:
        d.happen(sh.WalkLeft(d.now, walking.name))
    if goes_on:
        d.happen(sh.WalkResumed(d.now, command.walk))
        say_resumed(d)
    elif told is not None:
        d.happen(sh.WalkBegan(d.now, told.name, told.steps))
        d.say("walk_begun", "taken", walk=told.name, steps=len(told.steps))
        say_step(d)


def move(d: Draft, command: WalkMove) -> None:
    """Settle the step that is open, go back, or leave; without an open walk-through it is talk."""
    walking = d.state.walk
    if walking is None:
        return
    if d.unsure and not d.confirmed:
        d.ask("unsure", command, "ask_unsure", said=d.text)
        return
    match command.move:
        case "next" if walking.step.safety:
            d.say("walk_safety")
        case "done" | "next":
            _settle(d, "done")
        case "skip":
            _settle(d, "skipped")
        case "back" if walking.at == 0:
            d.say("walk_at_first")
            say_step(d)
        case "back":
            d.happen(sh.StepBack(d.now, walking.name, walking.at))
            say_step(d)
        case "leave":
            d.happen(sh.WalkLeft(d.now, walking.name))
            d.say("walk_left", "taken", walk=walking.name)


def _settle(d: Draft, outcome: sh.Outcome) -> None:
    walking = d.state.walk
    if walking is None:
        return
    step, last = walking.step, walking.at == len(walking.steps) - 1
    d.happen(sh.StepSettled(d.now, walking.name, walking.at + 1, step.say, outcome, step.safety))
    if outcome == "skipped":
        d.say("walk_skipped_safety" if step.safety else "walk_skipped", "question", step=step.say)
    if not last:
        say_step(d)
        return
    skipped = len(d.state.walk.skipped) if d.state.walk else 0
    d.happen(sh.WalkEnded(d.now, walking.name, skipped))
    if skipped:
        d.say("walk_over_skipped", walk=walking.name, skipped=skipped)
    else:
        d.say("walk_over", walk=walking.name)


def say_step(d: Draft) -> None:
    """The step that is open, its caution before it."""
    walking = d.state.walk
    if walking is None:
        return
    if walking.step.caution is not None:
        d.say("walk_caution", caution=walking.step.caution)
    d.say("walk_step", step=walking.step.say)


def say_resumed(d: Draft) -> None:
    """Where it goes on; what it began with for safety is said again, for nobody knows what was switched since."""
    walking = d.state.walk
    if walking is None:
        return
    d.say("walk_resumed", walk=walking.name, number=walking.at + 1)
    if walking.first_caution is not None and walking.at > 0:
        d.say("walk_caution", caution=walking.first_caution.say)
    say_step(d)
