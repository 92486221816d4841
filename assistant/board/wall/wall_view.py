"""What the page on the wall shows, as plain values and texts. Pure: a glance and wording in, JSON out.

Nothing in it moves with time alone: what runs has the station time at which it is due, and the page counts.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from assistant.batch.decide.answers import slot_is_open, wanted
from assistant.batch.decide.making.flour import LATE_S, left_of_plan
from assistant.batch.decide.slots import open_slot
from assistant.batch.record.batch import Batch
from assistant.batch.record.hopper.leftovers import gluten_of, left_behind_by
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.board.board_words import SLOTS, BoardWords
from assistant.board.glance import Glance, Hearing
from assistant.board.wall.buttons import buttons
from assistant.board.wall.gauge import gauge
from assistant.board.wall.headline import headline
from assistant.board.wall.practice_view import ITS_OWN, looked_at, prompted
from assistant.board.wall.troubles import gone_text, old_text, trouble
from assistant.board.wall.wall_clocks import clocks, time_of_day, timer_name, zone_s
from assistant.nlg.replies import Replies


@dataclass(frozen=True, slots=True)
class WallView:
    """Makes what the page shows of a glance."""

    rules: BatchRules
    replies: Replies
    words: BoardWords
    known: Callable[[], Known]
    """What the kitchen knows now: the plan is of this moment."""
    touch: bool = False
    """Whether there are buttons."""

    def __call__(self, glance: Glance) -> dict[str, Any]:
        """The page's values; texts are of the language, masses in whole grams, times in s."""
        kitchen, glance = glance, looked_at(glance)
        practises = glance.practised is not None
        state, now, words, known = glance.state, glance.now, self.words, self.known()
        batch, gone = state.batch, glance.gone_at is not None
        head = prompted(kitchen, words) or headline(
            state, now, self.rules, NOTHING if practises else known, words, self.replies
        )
        question = None if gone else self._question(glance)
        ringing = [] if gone else [timer_name(one, words) for one in state.ringing]
        return {
            "title": self._title(batch, practises=practises),
            "trouble": "" if gone else trouble(glance, words),
            "practice": words.text("practice.line") if practises else "",
            "phase": state.phase.value,
            "hearing": "gone" if gone else _ear(glance),
            "hearing_text": self._hearing(glance),
            "gone_at": glance.gone_at,
            "old": old_text(glance, words),
            "zone_s": zone_s(glance),
            "wall_trusted": glance.wall_trusted,
            "head": {
                "big": head.big, "unit": head.unit, "lead": head.lead, "then": head.then, "due": head.due,
                "is_text": head.is_text,
            },
            "question": question,
            "gauge": None if batch is None or state.phase is Phase.EXTRUDING else gauge(batch, words),
            "account": "" if batch is None else _account(batch, words),
            "facts": [] if batch is None else _facts(batch, words),
            "clocks": [one for one in self._clocks(kitchen, glance) if one["due"] != head.due],
            "more": words.text("timer.more", count="{count}", time="{time}"),
            "ringing": ringing,
            "late": "" if practises else self._late(glance, known),
            **self._last(glance),
            "spoken": self._spoken(head.lead, head.big, head.unit, head.then, question, ringing, glance),
            "buttons": self._buttons(kitchen),
        }  # fmt: skip

    def _buttons(self, glance: Glance) -> list[dict[str, Any]]:
        if not self.touch or glance.gone_at is not None:
            return []
        offered = buttons(glance.state, glance.now, self.rules)
        if glance.practised is not None:
            offered = tuple(one for one in offered if one.name in ITS_OWN)
        return [one.shown(self.words) for one in offered]

    def _title(self, batch: Batch | None, *, practises: bool) -> str:
        if practises:
            return self.words.text("practice.title")
        if batch is None:
            return self.words.text("page.title")
        if batch.recipe is None:
            return self.words.text("batch.title", number=batch.number, lot=batch.lot)
        return self.words.text("batch.title_recipe", number=batch.number, lot=batch.lot, recipe=batch.recipe)

    def _clocks(self, kitchen: Glance, glance: Glance) -> list[dict[str, Any]]:
        """Those of the kitchen, and behind them those of what is practised."""
        found = clocks(kitchen, self.words)
        return found if glance is kitchen else found + clocks(glance, self.words)

    def _hearing(self, glance: Glance) -> str:
        if glance.gone_at is not None:
            return gone_text(glance, _time(glance.gone_at, glance), self.words)
        return self.words.text(f"hearing.{_ear(glance)}")

    def _question(self, glance: Glance) -> dict[str, Any] | None:
        """The open question with what answers it: two words, or the kind of value."""
        state, question = glance.state, glance.state.question
        if question is None:
            return None
        again = " ".join(self.replies.render(one) for one in wanted(state, glance.now, self.rules))
        slot = slot_is_open(question)
        asking = open_slot(state, min(glance.now, question.expires - 0.01), self.rules).value
        return {
            "text": glance.last.question or again,
            "answers": [] if slot else [self.words.text("answer.yes"), self.words.text("answer.no")],
            "wanted": self.words.text(f"answer.{asking}") if slot and asking in SLOTS else "",
            "expires": round(question.expires, 2),
        }

    def _late(self, glance: Glance, known: Known) -> str:
        """What of the day's plan is late: the first of it, and how many more."""
        time = known.plan_time
        if time is None or glance.gone_at is not None:
            return ""
        late = [one for one in left_of_plan(glance.state, known.plan) if time.late_s(one) >= LATE_S]
        if not late:
            return ""
        return self.words.text("late", die=late[0].die, start=late[0].start, more=len(late) - 1)

    def _last(self, glance: Glance) -> dict[str, Any]:
        last, words = glance.last, self.words
        key = "last.heard" if last.understood else "last.missed"
        heard = words.text(key, text=last.heard) if last.heard else ""
        return {
            "heard": heard,
            "understood": last.understood,
            "said": words.text("last.said", text=last.said) if last.said else "",
        }

    def _spoken(
        self, lead: str, big: str, unit: str, then: str,
        question: dict[str, Any] | None, ringing: list[str], glance: Glance,
    ) -> str:  # fmt: skip
        """What a screen reader says when it changes: phase, question and ringing, never seconds."""
        if glance.gone_at is not None:
            return self._hearing(glance)
        if question is not None:
            return f"{question['text']} {' / '.join(question['answers']) or question['wanted']}"
        if ringing:
            return self.words.text("timer.rings_now", names=", ".join(ringing))
        counts = glance.state.phase in (Phase.MIXING, Phase.RESTING)
        phase = self.words.text(f"words.phase.{glance.state.phase.value}")
        number = "" if counts else f"{big} {unit}".strip()
        wrong = trouble(glance, self.words).rstrip(".")
        return ". ".join(one for one in (wrong, phase, lead, number, then) if one)


def _ear(glance: Glance) -> Hearing:
    """Whether the cook is heard; with listening off it is off, unless there is no microphone either."""
    return "off" if not glance.state.listening and glance.hearing != "lost" else glance.hearing


def _time(wall: float | None, glance: Glance) -> str:
    return "" if wall is None else time_of_day(wall, glance)


def _account(batch: Batch, words: BoardWords) -> str:
    return words.text(
        "batch.account",
        water_g=round(batch.water_g),
        flour_g=round(batch.flour_g),
        hydration_pct=round(batch.hydration_pct, 1),
        target_pct=batch.target_pct,
        phase=batch.phase.value,
        crumb=batch.crumb,
    )


def _facts(batch: Batch, words: BoardWords) -> list[str]:
    """Die and allergens; recipe and lot are in the title."""
    found = []
    if batch.die is not None:
        found.append(words.text("batch.die", die=batch.die))
    contains = () if batch.gluten_free else gluten_of(batch.plan)
    contains += left_behind_by(batch.plan, batch.additions)
    if contains:
        found.append(words.text("batch.contains", allergens=words.allergens(contains)))
    if batch.carried_over:
        found.append(words.text("batch.traces", allergens=words.allergens(batch.carried_over)))
    return found
