"""The one thing that is largest on the wall: what fits the phase, with the next step beside it. Pure.

It follows from what "what next" is answered with, so that page and voice never say two things.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from assistant.batch.decide.answers import next_step
from assistant.batch.decide.timing.timers import mix_s
from assistant.batch.record.announcements import Announcement
from assistant.batch.record.batch import Batch
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules, Known
from assistant.batch.record.state import State, Timer
from assistant.board.board_words import BoardWords
from assistant.dough.yields import portions
from assistant.nlg.replies import Replies


@dataclass(frozen=True, slots=True)
class Headline:
    """What is largest."""

    big: str
    """A number or one word, as large as the screen allows; a text where there is none (see `is_text`)."""
    unit: str = ""
    """What the number is of."""
    lead: str = ""
    """What must be read before it: off first, where a hand goes in."""
    then: str = ""
    """The next step."""
    due: float | None = None
    """Station time (s) that is counted down to in place of `big`, which is empty then; None: nothing is."""
    is_text: bool = False
    """Whether it is a sentence, or several, that share the room of number and next step."""


@dataclass(frozen=True, slots=True)
class _Moment:
    state: State
    now: float
    rules: BatchRules
    words: BoardWords
    replies: Replies

    def text(self, key: str, **values: Any) -> str:
        return self.words.text(key, **values)

    @property
    def batch(self) -> Batch:
        assert self.state.batch is not None
        return self.state.batch


def headline(
    state: State, now: float, rules: BatchRules, known: Known, words: BoardWords, replies: Replies
) -> Headline:
    """The headline at station time `now` (s)."""
    moment = _Moment(state, now, rules, words, replies)
    said = next_step(state, now, rules, known)
    steps = tuple(one for one in said if one.key not in _OF_WHAT_RINGS)
    loudest = state.ringing[0] if state.ringing else None
    if loudest is None:
        return _of(steps, moment)
    if loudest.traits.interval is not None and steps:
        return replace(_of(steps, moment), then=words.text("then.got_it"))
    return _ringing(loudest, said[0], moment)


def _of(steps: tuple[Announcement, ...], moment: _Moment) -> Headline:
    if state_extrudes(moment.state) and steps and steps[0].key in _EXTRUDING:
        return _dough(moment, moment.text(f"then.{_EXTRUDING[steps[0].key]}"))
    make = _MADE.get(steps[0].key) if len(steps) == 1 else None
    if make is not None:
        return make(moment, steps[0].values)
    text = " ".join(moment.replies.render(one) for one in steps)
    return Headline(text, is_text=True, then=moment.text("then.walk") if moment.state.walk else "")


def state_extrudes(state: State) -> bool:
    """Whether dough goes through the die."""
    return state.phase is Phase.EXTRUDING


def _ringing(timer: Timer, step: Announcement, moment: _Moment) -> Headline:
    if timer.kind == "tray":
        return Headline(moment.replies.render(step), is_text=True)
    big = moment.text("timer.digit" if timer.name.isdigit() else "timer.named", name=timer.name)
    return Headline(big, moment.text("head.up"), then=moment.text("then.got_it"))


def _pour(moment: _Moment, grams: float) -> Headline:
    minutes = minutes_text(mix_s(moment.state.batch, moment.rules))
    return Headline(
        grams_text(grams), moment.text("head.to_pour"), then=moment.text("then.mix", time=minutes)
    )


def _wait(moment: _Moment, phase: Phase, name: str) -> Headline:
    timer = next(
        (one for one in moment.state.timers if one.traits.interval and one.traits.interval.phase is phase),
        None,
    )
    due = None if timer is None else timer.due
    big = minutes_text(0.0) if timer is None else ""
    return Headline(big, moment.text(f"head.{name}"), then=moment.text("then.squeeze"), due=due)


def _squeeze(moment: _Moment) -> Headline:
    """A hand goes in: the switch is read before it, in one wording with it."""
    lead, _, big = moment.text("head.squeeze").rpartition(": ")
    return Headline(big, lead=lead, then=moment.text("then.verdict"))


def _dough(moment: _Moment, then: str) -> Headline:
    """Dough that is still there, and the portions that it makes."""
    left, batch = dough_left_g(moment.batch, moment.rules), moment.batch
    count = portions(left, portion_g(batch, moment.rules))
    return Headline(grams_text(left), moment.text("head.dough", portions=count), then=then)


def _planned(moment: _Moment, values: Mapping[str, Any], lead: str) -> Headline:
    unit = moment.text("head.planned", die=values["die"])
    return Headline(grams_text(values["flour"]), unit, lead=lead, then=moment.text("then.new_batch"))


_EXTRUDING = {"next_trim": "trim", "next_close": "close"}
_OF_WHAT_RINGS = ("next_got_it", "next_tray")
_MADE: dict[str, Callable[[_Moment, Mapping[str, Any]], Headline]] = {
    "next_open": lambda m, _: Headline(m.text("head.open"), then=m.text("then.new_batch")),
    "next_planned": lambda m, v: _planned(m, v, m.text("lead.planned", start=v["start"])),
    "next_planned_late": lambda m, v: _planned(m, v, m.text("lead.late", minutes=int(v["seconds"]) // 60)),
    "next_planned_old": lambda m, v: _planned(m, v, m.text("lead.old_plan", days=v["days"])),
    "next_first_pour": lambda m, v: _pour(m, v["grams"]),
    "next_pour": lambda m, v: _pour(m, v["grams"]),
    "next_mix": lambda m, v: Headline(
        minutes_text(v["seconds"]), m.text("head.to_mix"), then=m.text("then.say_mix")
    ),
    "next_wait_mix": lambda m, _: _wait(m, Phase.MIXING, "to_mix"),
    "next_wait_rest": lambda m, _: _wait(m, Phase.RESTING, "to_rest"),
    "next_squeeze": lambda m, _: _squeeze(m),
    "next_extrude": lambda m, _: Headline(m.text("head.extrude"), then=m.text("then.extruding")),
    "ask_addition": lambda m, v: _addition(m, v["grams"], v["ingredient"]),
    "wet_flour": lambda m, v: Headline(
        grams_text(v["flour"]), m.text("head.flour"), then=m.text("then.say_mix")
    ),
    "rescue_fits": lambda m, v: Headline(
        grams_text(v["grams"]), m.text("head.over_high"), then=m.text("then.rescue", flour=v["flour"])
    ),
}
"""Key of the next step -> its headline. All others are shown as they are said."""


def _addition(moment: _Moment, grams: float, ingredient: str) -> Headline:
    """What is to come, and what is said once it is in: its question has lapsed, a bare yes means nothing."""
    unit = moment.text("head.addition", name=ingredient)
    return Headline(grams_text(grams), unit, then=moment.text("then.in", said=f"{ingredient} in"))


def grams_text(grams: float) -> str:
    """Whole grams."""
    return f"{round(grams)}"


def minutes_text(seconds: float) -> str:
    """Minutes and seconds, as 1:40."""
    minutes, left = divmod(round(seconds), 60)
    return f"{minutes}:{left:02}"


def portion_g(batch: Batch, rules: BatchRules) -> float:
    """Dough of a portion (g): by the recipe, else by the kitchen's rules."""
    return (batch.plan.portion_g if batch.plan else None) or rules.portion_g


def dough_left_g(batch: Batch, rules: BatchRules) -> float:
    """Dough that is still there (g), estimated: what went in, less scrap and the portions counted."""
    return max(0.0, batch.product_g - batch.scrap_g - batch.portions * portion_g(batch, rules))
