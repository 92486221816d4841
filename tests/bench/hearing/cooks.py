"""Simulated batches: what a cook says when, with the state of the station at that moment.

Amounts are what a cook pours: mostly multiples of 5 towards the next mark, one in eight an odd figure read
off a scale, one in twelve far from the account's plan. A plan of what is plausible must not cost these.
"""

import random
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from assistant.batch.decide.decide import Due, Said, decide
from assistant.batch.record import events as ev
from assistant.batch.record.commands import Answer, Command
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.batch.record.state import State
from assistant.config.recipes import Recipes
from assistant.nlu import Grammar
from assistant.ports import Asking
from tests.bench.finetune.spoken_numbers import TENS, UNITS
from tests.bench.hearing.sentences import Part


@dataclass(frozen=True)
class Moment:
    """A sentence, its meaning, and the state in which it is said (at `now`, s)."""

    text: str
    command: Command
    state: State
    now: float
    odd: bool


def number_words(value: int, luck: random.Random) -> str:
    """A whole number to 9,999 the way cooks say it."""
    if value < 20:
        return UNITS[value]
    if value < 100:
        return f"{TENS[value // 10 - 2]} {UNITS[value % 10]}" if value % 10 else TENS[value // 10 - 2]
    if value < 1000:
        rest = value % 100
        head = UNITS[value // 100]
        if rest >= 10 and luck.random() < 0.6:
            return f"{head} {number_words(rest, luck)}"
        joint = luck.choice(("", "and "))
        return f"{head} hundred" + (f" {joint}{number_words(rest, luck)}" if rest else "")
    if value % 100 == 0 and value % 1000 and luck.random() < 0.4 and value < 5000:
        return f"{number_words(value // 100, luck)} hundred"
    if 1000 < value < 2000 and value % 100 >= 10 and luck.random() < 0.5:
        return f"{number_words(value // 100, luck)} {number_words(value % 100, luck)}"
    rest = value % 1000
    return f"{UNITS[value // 1000]} thousand" + (f" {number_words(rest, luck)}" if rest else "")


def moments(grammar: Grammar, part: Part, rules: BatchRules, recipes: Recipes) -> Iterator[Moment]:
    """What is said in batches without end; batches belong to a part by their number."""
    known = Known(NOTHING.lots, recipes.plans)
    number = 0
    while True:
        number += 1
        if ("test" if zlib.crc32(f"batch {number}".encode()) & 1 else "tune") == part:
            yield from _Batch(grammar, rules, known, random.Random(f"{part} {number}")).moments()


class _Batch:
    def __init__(self, grammar: Grammar, rules: BatchRules, known: Known, luck: random.Random) -> None:
        self.grammar, self.rules, self.known, self.luck = grammar, rules, known, luck
        self.state, self.now = State(), 1000.0
        self.said: list[Moment] = []

    def moments(self) -> list[Moment]:
        flour = (
            self.luck.randrange(600, 2300, 50) if self.luck.random() < 0.8 else self.luck.randint(600, 2250)
        )
        if self.luck.random() < 0.3:
            self.say(f"recipe {self.luck.choice(('plain', 'egg', 'spinach', 'wholegrain'))}")
        self.say(f"new batch {number_words(flour, self.luck)}", odd=flour % 5 != 0)
        if self.luck.random() < 0.4:
            self.say("lot " + " ".join(self.luck.choice(UNITS[:10]) for _ in range(3)))
        if self.luck.random() < 0.4:
            self.say(f"target {number_words(self.luck.choice((30, 31, 32, 33)), self.luck)}")
        self.say("mixer on")
        for _ in range(self.luck.randint(1, 3)):
            self.pour()
        self.say(self.luck.choice(("how much left", "where are we", "what next", "hydration", "how much in")))
        self.say(self.luck.choice(("mix", "mix two minutes", "mix for ninety seconds", "mix one minute")))
        self.wait()
        self.say("crumb dry")
        self.pour()
        if self.luck.random() < 0.4:
            self.say("poured the rest")
        self.say("mix")
        self.wait()
        if self.luck.random() < 0.5:
            self.say("crumb dry")
            self.pour()
        self.say("crumb ready")
        self.say(self.luck.choice(("rest", "rest five minutes", "rest fifteen minutes")))
        if self.luck.random() < 0.5:
            minutes = number_words(self.luck.choice((4, 6, 8, 12, 13, 14, 15, 16, 30, 40, 50)), self.luck)
            self.say(f"timer {self.luck.choice(('pasta', 'sauce', 'three'))} {minutes} minutes")
            self.say("time left")
        self.wait()
        self.say("extruding")
        scrap = self.luck.choice((13, 14, 15, 20, 30, 35, 40, 50, 60, 70, 80, 27))
        self.say(f"scrap {number_words(scrap, self.luck)}", odd=scrap % 5 != 0)
        self.say("tray done")
        self.say(f"portions {number_words(self.luck.randint(8, 40), self.luck)}")
        self.say("close batch")
        return self.said

    def pour(self) -> None:
        """Pour towards the next mark; now and then something else, and now and then correct it."""
        batch = self.state.batch
        if batch is None:
            return
        left = max(15.0, batch.to_target_g if batch.to_target_g > 15 else batch.flour_g * 0.01)
        plan = left * self.luck.choice((1.0, 1.0, 0.72, 0.5, 0.33, 0.25))
        grams, odd = 5 * max(2, round(plan / 5)), False
        chance = self.luck.random()
        if chance < 1 / 8:
            grams, odd = max(7, round(plan) + self.luck.choice((-2, -1, 1, 2))), True
        elif chance < 1 / 8 + 1 / 12:
            grams, odd = self.luck.randint(11, 700), True
        words = number_words(grams, self.luck)
        unit = self.luck.choice(("", "", " grams"))
        self.say(f"{self.luck.choice(('water', 'water', 'poured'))} {words}{unit}", odd=odd)
        if self.luck.random() < 0.15:
            self.say(
                f"make that {number_words(max(10, grams - self.luck.choice((5, 10, 20))), self.luck)}",
                odd=odd,
            )
        elif self.luck.random() < 0.08:
            self.say("undo")

    def wait(self) -> None:
        """Until a timer rings, and silence it."""
        running = [timer for timer in self.state.timers if timer.kind != "named" and not timer.ringing]
        if running:
            self.now = max(timer.due for timer in running)
            self._follow(decide(self.state, Due(), self.now, self.rules, self.known).events)
        if self.state.ringing:
            self.say("got it")

    def say(self, text: str, *, odd: bool = False) -> None:
        self.now += 7.0
        self._command(text, odd=odd)
        if self.state.question is not None:
            self._command("yes", odd=False)

    def _command(self, text: str, *, odd: bool) -> None:
        command = self.grammar.parse(text, asking=Asking.ANSWER)
        if command is None:
            raise ValueError(f"a cook can't say {text!r}")
        if not isinstance(command, Answer) or self.state.question is not None:
            self.said.append(Moment(text, command, self.state, self.now, odd))
        self._follow(
            decide(self.state, Said(command, "voice", text), self.now, self.rules, self.known).events
        )

    def _follow(self, events: tuple[ev.Event, ...]) -> None:
        for event in events:
            self.state = evolve(self.state, event)
