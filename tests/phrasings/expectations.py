"""What has to come of a sentence, and whether it did.

An expectation is a JSON object: the outcome as the cook sees it, never the inner names where that can be
helped.

- Values of `seen`, for what has to be changed by the sentence: `{"water_g": 380, "timers": {"mix": 120}}`.
  A timer's seconds may be "any"; null: it is gone. What is not named has to stay as it was.
- `new_timer_s`: a timer of this length, whatever its name. `cooking`: a shape is timed in the water.
- `ended`: the batch is "closed" or "dropped"; other values are its last. `tray_cold`: number of a tray.
- `told`: an answer on this subject, and nothing changed. `asks`: the rest of this command is asked for.
- `settled`: the open question is closed with yes or no, and nothing changed.
- `name` and more: exactly this command.
- `any`: a list of expectations, each of them fair.
"""

from typing import Any, Literal

from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as shift
from assistant.batch.record.command_object import command_object
from assistant.batch.record.commands import Incomplete
from assistant.batch.record.events import Event, Source
from assistant.batch.record.evolving.evolve import replay
from assistant.batch.record.state import State
from assistant.station.station import Turn
from tests.phrasings.contexts import Bench, prepared

Expectation = dict[str, Any]
Outcome = Literal["understood", "asked", "caught", "silent", "otherwise"]
OUTCOMES: tuple[Outcome, ...] = ("understood", "asked", "caught", "silent", "otherwise")
"""At once; after yes to one question; a question, or a wish for a value, about something else; nothing done,
with or without a suggestion; something else was done or answered."""

TalkOutcome = Literal["left", "told", "asked", "acted"]
TALK_OUTCOMES: tuple[TalkOutcome, ...] = ("left", "told", "asked", "acted")
"""Left alone; answered, though nothing changed; asked about; acted on."""

TOLD: dict[str, tuple[str, ...]] = {
    "left": ("left", "to_marks", "on_target", "past_target", "over_target", "at_high", "over_high"),
    "in": ("account",),
    "hydration": ("hydration",),
    "where": ("where",),
    "next": ("next_",),
    "help": ("help_",),
    "time": ("time_left", "timer_none"),
    "plan": ("next_planned", "plan_"),
    "dough": ("dough_left",),
    "tray": ("tray_",),
    "day": ("day_",),
    "practice": ("practice",),
}
"""Subject -> how the keys of its replies begin."""
NO_SWITCH = "switch nothing"
"""What the station says whenever it is asked to switch something, or whether that is off or safe."""
TOLERANCE = 1.0
"""Figures agree to this much (g, s)."""


def seen(state: State) -> dict[str, Any]:
    """The state as a cook sees it, without timers. Masses in g."""
    b, walk = state.batch, state.walk
    plan = b.plan if b is not None else state.next_plan
    cutter = state.cutter
    marks = state.next_marks
    return {
        "batch": b.number if b else None,
        "flour_g": b.flour_g if b else None,
        "water_g": b.water_g if b else None,
        "scrap_g": b.scrap_g if b else None,
        "target_pct": b.target_pct if b else marks[0] if marks else None,
        "crumb": b.crumb if b else None,
        "phase": state.phase.value,
        "die": b.die if b else state.die_before,
        "die_warm": b.die_warm if b else None,
        "trays": b.trays if b else None,
        "portions": b.portions if b else None,
        "conditions": dict(b.conditions) if b else {},
        "lot": b.lot if b else state.next_lot,
        "recipe": plan.recipe if plan else None,
        "listening": state.listening,
        "loudness": state.loudness,
        "pace": state.pace,
        "walk": walk.name if walk else None,
        "walk_step": walk.at + 1 if walk else None,
        "cutter": cutter.speed if cutter else None,
    }


_FREE = {"phase"}
_OPENS = {"batch", "water_g", "scrap_g", "target_pct", "trays", "portions", "die_warm", "crumb"}
"""What a batch that opens brings along."""
_FOLLOWS: dict[str, set[str]] = {
    "flour_g": {"crumb"},
    "recipe": {"target_pct"},
    "lot": {"target_pct"},
    "walk": {"walk_step"},
    "water_g": {"crumb"},
    "die": {"die_warm"},
}
"""Named value -> what may change along with it, as more water ends a verdict."""


class Said:
    """What is said in a fresh moment, and what comes of it."""

    def __init__(self, context: str) -> None:
        self.bench: Bench = prepared(context)
        self.before = self.bench.station.state
        self.known = len(self.bench.events)
        """How many events were written before."""
        self.last = self.bench.last
        """The last turn before that said something."""
        self.turns: list[Turn] = []

    def say(self, text: str, source: Source) -> Turn:
        """A sentence comes in, surely heard or typed."""
        return self.took(self.bench.station.hear(text, source=source))

    def took(self, turn: Turn) -> Turn:
        """The station took a turn in this moment."""
        self.turns.append(turn)
        return turn

    @property
    def events(self) -> list[Event]:
        """What was written since."""
        return self.bench.events[self.known :]

    @property
    def now(self) -> float:
        return self.bench.clock.monotonic()

    @property
    def state(self) -> State:
        return self.bench.station.state

    @property
    def keys(self) -> tuple[str, ...]:
        return tuple(reply.key for turn in self.turns for reply in turn.replies)

    @property
    def was_asked(self) -> bool:
        """Whether a question is open that was not before."""
        question = self.state.question
        return question is not None and question != self.before.question

    @property
    def left_alone(self) -> bool:
        """Whether the sentence meant nothing to the station; that it says so is no matter."""
        return all(turn.command is None or not turn.replies for turn in self.turns) and not self.events


def judge(said: Said, text: str, expected: Expectation, source: Source) -> Outcome:
    """Say a sentence, then yes where it leads to a question, and see what came of it."""
    said.say(text, source)
    return outcome(said, expected, source)


def outcome(said: Said, expected: Expectation, source: Source) -> Outcome:
    """What came of what was said by now; yes is said where that led to a question."""
    if met(said, expected):
        return "understood"
    if said.left_alone:
        return "silent"
    if said.was_asked:
        said.say("yes", source)
        return "asked" if met(said, expected) else "caught"
    missing = any(isinstance(turn.command, Incomplete) for turn in said.turns)
    return "caught" if missing and not changed(said) else "otherwise"


def talk_outcome(said: Said, text: str, source: Source) -> TalkOutcome:
    """Say what is no command, and see what came of it."""
    said.say(text, source)
    return outcome_of_talk(said)


def outcome_of_talk(said: Said) -> TalkOutcome:
    """What came of the talk that was heard by now."""
    if said.left_alone:
        return "left"
    if changed(said):
        return "acted"
    missing = any(isinstance(turn.command, Incomplete) for turn in said.turns)
    return "asked" if said.was_asked or missing else "told"


def changed(said: Said) -> bool:
    """Whether anything was written but questions, and the answers to those that were asked since."""
    asked = 0
    for event in said.events:
        asked += isinstance(event, ev.QuestionAsked)
        if isinstance(event, ev.QuestionSettled) and asked:
            asked -= 1
        elif not isinstance(event, ev.QuestionAsked):
            return True
    return False


def met(said: Said, expected: Expectation) -> bool:
    """Whether the expectation came true, and nothing else with it."""
    if "any" in expected:
        return any(met(said, one) for one in expected["any"])
    if said.left_alone and "told" not in expected:
        return False
    if "told" in expected:
        return not changed(said) and _told(said, expected["told"])
    if "asks" in expected:
        return not changed(said) and _asks(said, expected["asks"])
    if "name" in expected:
        command = said.turns[0].command
        return command is not None and command_object(command) == expected
    return _as_wanted(said, expected)


def _told(said: Said, subject: str) -> bool:
    texts = [reply.text for turn in said.turns for reply in turn.replies]
    if subject == "switch":
        return any(NO_SWITCH in text for text in texts)
    if subject == "again":
        return said.last is not None and texts == [reply.text for reply in said.last.replies]
    return any(key.startswith(TOLD[subject]) for key in said.keys)


def _asks(said: Said, command: str) -> bool:
    for turn in said.turns:
        if isinstance(turn.command, Incomplete) and turn.command.command == command:
            return True
    return command == "stop_timer" and "timer_which" in said.keys


def _as_wanted(said: Said, expected: Expectation) -> bool:
    wanted = dict(expected)
    before, after = said.before, said.state
    ended = wanted.pop("ended", None)
    if ended is not None:
        kinds = {"closed": ev.BatchClosed, "dropped": ev.BatchDropped}
        ends = [n for n, event in enumerate(said.bench.events) if isinstance(event, kinds[ended])]
        if not any(n >= said.known for n in ends) or after.batch is not None:
            return False
        after = replay(said.bench.events[: ends[-1]])
    if not _settled(said, wanted.pop("settled", None)) or not _chilled(said, wanted.pop("tray_cold", None)):
        return False
    timers: Expectation = {
        name: wanted.pop(name) for name in ("timers", "new_timer_s", "cooking") if name in wanted
    }
    return _same_values(seen(before), seen(after), wanted) and _same_timers(
        said, before, after, timers, ended=ended is not None
    )


def _settled(said: Said, yes: bool | None) -> bool:
    if yes is None:
        return True
    return any(isinstance(event, ev.QuestionSettled) and event.yes is yes for event in said.events)


def _chilled(said: Said, tray: int | None) -> bool:
    chilled = [event.tray for event in said.events if isinstance(event, shift.TrayChilled)]
    return chilled == ([] if tray is None else [tray])


def _same_values(before: dict[str, Any], after: dict[str, Any], wanted: Expectation) -> bool:
    free = _FREE.union(*(_FOLLOWS.get(name, set()) for name in wanted))
    if "flour_g" in wanted and before["batch"] is None:
        free |= _OPENS
    return all(
        _near(after[name], wanted[name]) if name in wanted else name in free or after[name] == before[name]
        for name in after
    )


def _near(found: Any, wanted: Any) -> bool:
    if isinstance(found, float | int) and isinstance(wanted, float | int) and not isinstance(wanted, bool):
        return abs(found - wanted) <= TOLERANCE
    return bool(found == wanted)


def _lengths(state: State, now: float) -> dict[str, float]:
    """Seconds left of each timer but the trays' own; 0 where it rings."""
    return {timer.name: timer.remaining_s(now) for timer in state.timers if timer.kind != "tray"}


def _same_timers(said: Said, before: State, after: State, wanted: Expectation, *, ended: bool) -> bool:
    old, new = _lengths(before, said.now), _lengths(after, said.now)
    named: dict[str, Any] = dict(wanted.get("timers", {}))
    if "cooking" in wanted:
        named[wanted["cooking"]] = "any"
    for name, seconds in named.items():
        if seconds is None:
            if name in new:
                return False
        elif name not in new or (seconds != "any" and abs(new[name] - seconds) > TOLERANCE):
            return False
    others = new.keys() - old.keys() - named.keys()
    if "new_timer_s" in wanted:
        fitting = {name for name in others if abs(new[name] - wanted["new_timer_s"]) <= TOLERANCE}
        if len(fitting) != 1:
            return False
        others = others - fitting
    # Mixing and resting end by a verdict, by extruding and by each other: the batch's own timers may go.
    gone = old.keys() - new.keys() - named.keys() - {"mix", "rest"}
    kept = (old.keys() & new.keys()) - named.keys()
    return not others and (ended or not gone) and all(abs(old[n] - new[n]) <= TOLERANCE for n in kept)
