"""Walk-throughs: spoken step by step, logged as the cook says that they were done.

The station never says that it is safe to reach in. A step that is there for safety is done or skipped in so
many words: "next" does not pass it, and a skip is said back.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.record import shift_events as sh
from assistant.batch.record.commands import CleanDownDone, Walk, WalkMove
from assistant.batch.record.hopper.leftovers import CLEANED_BY
from assistant.batch.record.steps import Walking

RESUMED_WITHIN_S = 3600.0
"""One that was left longer ago (s) begins again: by then nobody knows what was switched since."""


def no_walk_to_begin(d: Draft, command: Walk) -> bool:
    """Whether the walk-through is open already, or unknown; says where it is, or so."""
    if d.state.walk is not None and d.state.walk.name == command.walk:
        say_step(d)
        return True
    if command.walk in d.known.walks or _left(d, command) is not None:
        return False
    d.say("walk_unknown", walk=command.walk)
    return True


def is_at_clean_down(d: Draft, _command: CleanDownDone) -> bool:
    """Whether it is gone through step by step: then the step that is open is said."""
    if d.state.walk is None or d.state.walk.name != CLEANED_BY:
        return False
    say_step(d)
    return True


def note_clean_down(d: Draft, _command: CleanDownDone) -> None:
    """Note a clean down whose steps were not spoken, as the cook says: what waits for one is over.

    The record shows it: it has no steps there.
    """
    if d.state.walk is not None:
        d.happen(sh.WalkLeft(at=d.now, walk=d.state.walk.name))
    d.happen(sh.WalkBegan(at=d.now, walk=CLEANED_BY, steps=()))
    d.happen(sh.WalkEnded(at=d.now, walk=CLEANED_BY, skipped=0))
    d.say("clean_down_noted", "taken")


def begin(d: Draft, command: Walk) -> None:
    """Begin a walk-through, or go on where it was left."""
    left = _left(d, command)
    if d.state.walk is not None:
        d.happen(sh.WalkLeft(at=d.now, walk=d.state.walk.name))
    if left is not None:
        d.happen(sh.WalkResumed(at=d.now, walk=command.walk))
        say_resumed(d)
        return
    begun = d.known.walks[command.walk]
    d.happen(sh.WalkBegan(at=d.now, walk=begun.name, steps=begun.steps))
    d.say("walk_begun", "taken", walk=begun.name, steps=len(begun.steps))
    say_step(d)


def _left(d: Draft, command: Walk) -> Walking | None:
    """The walk-through where it was left, if that is not too long ago."""
    return next(
        (
            one
            for one in d.state.walks
            if one.name == command.walk
            and one.left_at is not None
            and d.now - one.left_at <= RESUMED_WITHIN_S
        ),
        None,
    )


def move(d: Draft, command: WalkMove) -> None:
    """Settle the step that is open, go back, or leave."""
    walking = d.state.walk
    if walking is None:
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
            d.happen(sh.StepBack(at=d.now, walk=walking.name, step=walking.at))
            say_step(d)
        case "leave":
            d.happen(sh.WalkLeft(at=d.now, walk=walking.name))
            d.say("walk_left", "taken", walk=walking.name)


def _settle(d: Draft, outcome: sh.Outcome) -> None:
    walking = d.state.walk
    if walking is None:
        return
    step, last = walking.step, walking.at == len(walking.steps) - 1
    d.happen(
        sh.StepSettled(
            at=d.now,
            walk=walking.name,
            step=walking.at + 1,
            text=step.say,
            outcome=outcome,
            safety=step.safety,
        )
    )
    if outcome == "skipped":
        d.say("walk_skipped_safety" if step.safety else "walk_skipped", "question", step=step.say)
    if not last:
        if outcome == "skipped" and step.safety:
            # What was skipped is to be heard: the step behind it is asked for.
            d.say("walk_waits", number=walking.at + 2)
        else:
            say_step(d)
        return
    skipped = len(d.state.walk.skipped) if d.state.walk else 0
    d.happen(sh.WalkEnded(at=d.now, walk=walking.name, skipped=skipped))
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
    """Where it goes on.

    What it began with for safety is said again, for nobody knows what was switched since; the step is then
    asked for.
    """
    walking = d.state.walk
    if walking is None:
        return
    if walking.first_caution is not None and walking.at > 0:
        d.say("walk_caution", caution=walking.first_caution.say)
        d.say("walk_waits", number=walking.at + 1)
        return
    d.say("walk_resumed", walk=walking.name, number=walking.at + 1)
    say_step(d)
