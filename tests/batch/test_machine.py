"""Let a machine write the kitchens: any commands, any clock, any power cut, held against a simple account."""

import math
from dataclasses import dataclass, replace

import hypothesis.strategies as st
from hypothesis import settings
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from assistant.batch.decide.decide import Due, Request, Said, Started, decide, next_due
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.evolving.evolve import evolve, replay
from assistant.batch.record.hopper import hopper_events as hop
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.batch.record.timer_kinds import tray_of
from assistant.dough.amounts import Amount
from tests.batch.kitchen import PLANNED, REMEMBERS
from tests.batch.said_and_written import check_written
from tests.nlg.brief_turns import check_brief
from tests.nlg.off_first import check_off_first

RULES = BatchRules()
KNOWN = replace(REMEMBERS, plan=PLANNED)

masses = st.one_of(
    st.sampled_from(
        [0.0, 0.4, 13, 15, 30, 50, 150, 115, 330, 465, 1500, 2000, 2300, 2999, 3500, -5, math.nan]
    ),
    st.floats(0.1, 3100),
)
amounts = st.builds(Amount, masses, st.just("g"), st.booleans()) | st.builds(
    Amount, st.floats(0.1, 3), st.sampled_from(["kg", "lb", "oz", "l"]), st.booleans()
)
seconds = st.sampled_from([0.0, 1.0, 20.0, 45.0, 60.0, 120.0, 3600.0, 1e6])
names = st.sampled_from(["1", "2", "sauce", "mix", "rest", "prep one"])
small_talk = st.one_of(
    st.builds(cmd.SetTarget, st.sampled_from([5.0, 29.0, 30.0, 31.0, 31.5, 33.0, 36.0, 70.0])),
    st.builds(cmd.SetLot, st.sampled_from(["471", "12", "5", "99"])),
    st.builds(cmd.UseRecipe, st.sampled_from(["egg", "wholegrain", "rye"])),
    st.builds(
        cmd.TellCondition,
        st.sampled_from(["kitchen", "dough", "humidity"]),
        st.floats(-50, 150) | st.just(math.nan),
    ),
    st.builds(cmd.JudgeCrumb, st.sampled_from(["dry", "ready", "wet"])),
    st.builds(
        cmd.Ask,
        st.sampled_from(["left", "in", "hydration", "where", "next", "help", "time", "dough", "plan"]),
    ),
    st.builds(cmd.Mix, st.none() | seconds),
    st.builds(cmd.Rest, st.none() | seconds),
    st.builds(cmd.SetTimer, names, seconds),
    st.builds(cmd.PrepRest, seconds),
    st.builds(cmd.StopTimer, st.none() | names),
    st.builds(cmd.AddTime, seconds, st.none() | names),
    st.builds(cmd.Mixer, st.booleans()),
    st.builds(cmd.Walk, st.sampled_from(["clean down", "die change", "stock take"])),
    st.builds(cmd.WalkMove, st.sampled_from(["done", "next", "back", "skip", "leave"])),
    st.builds(cmd.TrayCold, st.none() | st.integers(1, 3)),
    st.builds(cmd.Cook, st.sampled_from(["penne", "sauce"])),
    st.builds(cmd.Cutter, st.sampled_from(["speed", "length", "want"]), st.sampled_from([0.0, 35.0])),
    st.just(cmd.DieWarm()),
    st.just(cmd.Incomplete("new_batch", "number")),
    st.builds(cmd.NewDie, st.sampled_from(["large shells", "bronze nine"])),
    st.builds(cmd.Portions, st.integers(-1, 60)),
    st.builds(cmd.Loudness, st.sampled_from([1, -1])),
    st.builds(cmd.Pace, st.sampled_from([1, -1])),
    st.builds(cmd.Incomplete, st.sampled_from(["water", "mix"]), st.sampled_from(["number", "unit"])),
    st.sampled_from([cmd.SayAgain(), cmd.GotIt(), cmd.GotIt(everything=True)]),
    st.sampled_from([cmd.Extruding(), cmd.TrayDone()]),
    st.sampled_from([cmd.CloseBatch(), cmd.DropBatch(), cmd.SameAgain()]),
)


@dataclass(frozen=True)
class Line:
    """A line of the model's account."""

    number: int
    kind: str
    grams: float
    water: float = 0.0
    """Water content of an addition (share of its mass)."""
    at: float = 0.0
    """Station time (s), by the clock of this boot."""

    @property
    def wets(self) -> bool:
        return self.kind == "water" or (self.kind == "addition" and self.water > 0)


def held(lines: tuple[Line, ...]) -> dict[str, float]:
    """What the lines leave in the hopper: flour, water poured, water carried, the rest of the additions."""
    found = dict.fromkeys(("flour", "poured", "carried", "dry"), 0.0)
    for line in lines:
        match line.kind:
            case "flour":
                found["flour"] += line.grams
            case "water":
                found["poured"] += line.grams
            case "addition":
                found["carried"] += line.grams * line.water
                found["dry"] += line.grams * (1 - line.water)
            case "flour_out":
                found["flour"] -= line.grams
            case "water_out":
                # Up to half a gram more than is in passes for all of it.
                found["poured"] = max(0.0, found["poured"] - line.grams)
            case "dough_out":
                gone = line.grams / sum(found.values())
                found = {name: grams * (1 - gone) for name, grams in found.items()}
    return found


Account = tuple[Line, ...] | None


class Kitchens(RuleBasedStateMachine):
    """A kitchen and a model of its account: a list of lines, and the lists as they were, for taking back."""

    @initialize(at=st.floats(0, 1e6))
    def open_up(self, at: float) -> None:
        self.now = at
        self.state = State()
        self.events: list[ev.Event] = []
        self.account: Account = None
        self.before: list[Account] = []
        self.cleaned = True
        """Whether the machine was cleaned, or none was used, since the open batch was opened."""
        self.called: set[int] = set()
        """Batches whose clean down was called since the last one."""

    def ask(self, request: Request) -> tuple[ev.Event, ...]:
        asked_of, copy = self.state, replace(self.state)
        decision = decide(self.state, request, self.now, RULES, KNOWN)
        assert decision == decide(copy, request, self.now, RULES, KNOWN)
        assert asked_of == copy
        check_off_first(decision.announcements)
        check_brief(decision.announcements)
        check_written(decision.announcements, decision.events)
        for event in decision.events:
            self._model(event)
            self.state = evolve(self.state, event)
        self.events.extend(decision.events)
        return decision.events

    def _model(self, event: ev.Event) -> None:
        """Keep the account by the journal's lines alone; lists of old accounts stand for undo."""
        self._model_clean(event)
        if type(event).__name__ == "Withdrawn":
            self.account = self.before.pop()
            return
        was = self.account
        match event:
            case ev.BatchOpened():
                self.account = (Line(self.state.next_entry, "flour", event.flour_g, at=event.at),)
            case ev.WaterAdded():
                self.account = (*(was or ()), Line(event.entry, "water", event.grams, at=event.at))
            case ev.FlourAdded():
                self.account = (*(was or ()), Line(event.entry, "flour", event.grams))
            case ev.ScrapWeighed():
                self.account = (*(was or ()), Line(event.entry, "scrap", event.grams))
            case hop.AdditionAdded():
                line = Line(event.entry, "addition", event.grams, event.water_pct / 100, event.at)
                self.account = (*(was or ()), line)
            case hop.TakenOut():
                self.account = (*(was or ()), Line(event.entry, f"{event.what}_out", event.grams))
            case ev.EntryCorrected():
                *rest, last = was or ()
                assert (last.number, last.grams) == (event.entry, event.was)
                self.account = (*rest, replace(last, grams=event.grams))
            case ev.BatchClosed() | ev.BatchDropped():
                self.account = None
        self.before.append(was)
        # What can't be undone leaves no step; the model keeps just as many accounts as there are steps.
        after = evolve(self.state, event)
        gone = len(self.before) - len(after.undo)
        if gone and len(after.undo) > len(self.state.undo):
            self.before = self.before[gone:]
        elif isinstance(event, ev.TimerRang):
            self.before.pop()
            kept = [step.timer != event.name for step in self.state.undo]
            self.before = [account for account, keep in zip(self.before, kept, strict=True) if keep]
        elif gone:
            assert self.account == was
            self.before.pop()

    def _model_clean(self, event: ev.Event) -> None:
        """Clean down is called once until it is done. Of a batch that is open again it is not known here."""
        match event:
            case sh.WalkEnded(walk="clean down", skipped=0):
                self.cleaned, self.called = True, set()
                assert evolve(self.state, event).unclean is None
            case ev.BatchOpened():
                self.cleaned = False
            case ev.Withdrawn() if self.state.batch is None:
                self.cleaned = True
            case sh.CleanDownCalled(again_at=None):
                assert event.batch not in self.called
                self.called.add(event.batch)
                assert self.now >= event.due - RULES.food.clean_warn_s - 1e-6

    @rule(flour=amounts)
    def new_batch(self, flour: Amount) -> None:
        self.ask(Said(cmd.NewBatch(flour)))

    @rule(
        flour=st.sampled_from([500.0, 1500.0, 2000.0, 2300.0]),
        recipe=st.sampled_from([None, None, "egg", "wholegrain"]),
    )
    def sound_batch(self, flour: float, recipe: str | None) -> None:
        if recipe is not None:
            self.ask(Said(cmd.UseRecipe(recipe)))
        self.ask(Said(cmd.NewBatch(Amount(flour))))

    @rule(share=st.floats(0.01, 1.1), exact=st.booleans())
    @precondition(lambda self: self.state.batch is not None)
    def sound_pour(self, share: float, exact: bool) -> None:
        """A pour of the size that the batch wants."""
        left = max(10.0, self.state.batch.to_target_g) if self.state.batch else 0.0
        self.ask(Said(cmd.AddWater(Amount(round(left * share) + 1.0, exact=exact))))

    @rule(grams=st.sampled_from([15.0, 60.0, 150.0, 148.0, 600.0]), unsure=st.booleans())
    def jug_pours(self, grams: float, unsure: bool) -> None:
        """Without a batch it is none of ours; in one it is logged, or held against what the voice said."""
        last = self.state.batch.entries[-1] if self.state.batch else None
        events = self.ask(Said(cmd.AddWater(Amount(grams, exact=True)), "jug", "", unsure))
        for event in events:
            if isinstance(event, ev.EntryWeighed):
                assert last is not None
                assert (last.kind, last.source == "jug", last.weighed) == ("water", False, False)
        assert not events or last is not None or self.state.question is None

    @rule(
        amount=amounts,
        kind=st.sampled_from([cmd.AddWater, cmd.AddFlour, cmd.Scrap, cmd.TookOut, cmd.MakeThat]),
        unsure=st.booleans(),
    )
    def weigh(
        self,
        amount: Amount,
        kind: type[cmd.AddWater]
        | type[cmd.AddFlour]
        | type[cmd.Scrap]
        | type[cmd.TookOut]
        | type[cmd.MakeThat],
        unsure: bool,
    ) -> None:
        self.ask(Said(kind(amount), unsure=unsure))

    @rule(grams=st.sampled_from([40.0, 200.0, 300.0, 1e4]), what=st.sampled_from([None, "flour", "water"]))
    @precondition(lambda self: self.state.batch is not None)
    def take_out(self, grams: float, what: cmd.TakenOutOf | None) -> None:
        self.ask(Said(cmd.TookOut(Amount(grams, exact=True), what)))

    @rule(name=st.sampled_from(["egg", "salt"]), grams=st.sampled_from([None, 0.0, 180.0, 900.0]))
    @precondition(lambda self: self.state.batch is not None and self.state.batch.plan is not None)
    def addition_in(self, name: str, grams: float | None) -> None:
        self.ask(Said(cmd.AddAddition(name, None if grams is None else Amount(grams, exact=True))))

    @rule(
        answer=st.sampled_from([cmd.Answer(yes=True), cmd.Answer(yes=False), cmd.GivenAmount(Amount(180.0))])
    )
    @precondition(lambda self: self.state.question is not None and self.state.question.reason == "addition")
    def answer_whether_it_is_in(self, answer: cmd.Command) -> None:
        self.ask(Said(answer))

    @rule(name=st.sampled_from(["egg", "salt"]))
    @precondition(lambda self: self.state.batch is not None and bool(self.state.batch.to_come))
    def leave_out(self, name: str) -> None:
        self.ask(Said(cmd.LeaveOut(name)))

    @rule()
    @precondition(lambda self: self.state.batch is not None)
    def pour_rest(self) -> None:
        self.ask(Said(cmd.PourRest()))

    @rule(verdict=st.sampled_from(["dry", "ready", "wet"]))
    @precondition(lambda self: self.state.batch is not None)
    def mix_and_squeeze(self, verdict: cmd.Verdict) -> None:
        """What the station asks for next, done as it asks."""
        self.ask(Said(cmd.Mix()))
        self.now += 120.0
        self.ask(Due())
        self.ask(Said(cmd.GotIt()))
        self.ask(Said(cmd.JudgeCrumb(verdict)))

    @rule(grams=st.sampled_from([60.0, 115.0, 149.0, 330.0]))
    @precondition(lambda self: self.state.batch is not None)
    def correct(self, grams: float) -> None:
        self.ask(Said(cmd.MakeThat(Amount(grams, exact=True))))

    @rule(command=st.sampled_from([cmd.AddTime(60.0), cmd.StopTimer(), cmd.Mixer(on=False), cmd.GotIt()]))
    @precondition(lambda self: bool(self.state.timers))
    def tend_the_timers(self, command: cmd.Command) -> None:
        self.ask(Said(command))

    @rule(command=st.sampled_from([cmd.Extruding(), cmd.TrayDone(), cmd.CloseBatch(), cmd.DropBatch()]))
    @precondition(lambda self: self.state.batch is not None and self.state.batch.looked)
    def finish(self, command: cmd.Command) -> None:
        self.ask(Said(command))

    @rule(command=small_talk, unsure=st.booleans(), source=st.sampled_from(["voice", "keyboard"]))
    def talk(self, command: cmd.Command, unsure: bool, source: ev.Source) -> None:
        self.ask(Said(command, source, "as heard", unsure, again=len(self.events) % 7))

    @rule(command=small_talk)
    def talk_plainly(self, command: cmd.Command) -> None:
        self.ask(Said(command))

    @rule(yes=st.booleans(), unsure=st.booleans())
    def answer(self, yes: bool, unsure: bool) -> None:
        asked = self.state.question
        events = self.ask(Said(cmd.Answer(yes), unsure=unsure))
        if asked is None or unsure or self.now >= asked.expires:
            # A no to what was just read back asks what was meant, and changes nothing by that.
            assert all(
                isinstance(e, ev.QuestionSettled)
                or (isinstance(e, ev.QuestionAsked) and e.reason == "said_wrong" and not yes)
                for e in events
            )

    @rule()
    @precondition(lambda self: self.state.question is not None and self.state.question.reason != "addition")
    def not_listening(self) -> None:
        """Deaf to all but its opposite; the next rule would find nothing to do, so it listens again."""
        state = replace(self.state, listening=False, question=None)
        self.ask(Said(cmd.Listening(on=False)))
        self.ask(Said(cmd.PourRest()))
        assert self.state == state
        self.ask(Said(cmd.Listening(on=True)))

    @rule(unsure=st.booleans(), listening=st.booleans())
    def asked_about_the_machine(self, unsure: bool, listening: bool) -> None:
        """Answered at once and alone, whatever is open, and nothing changes by it."""
        state = replace(self.state, listening=listening)
        decision = decide(state, Said(cmd.MachineQuestion(), unsure=unsure), self.now, RULES, KNOWN)
        assert [one.key for one in decision.announcements] == ["you_switch"]
        assert (decision.events, decision.state) == ((), state)

    @rule()
    def undo(self) -> None:
        """What is taken back leaves the account as it was before."""
        wanted = self.before[-1] if self.before else self.account
        asked, account = self.state.question, self.account
        # Whether an addition is in was not asked about what was said last: that is taken back. So is what
        # was called wrong.
        by_itself = asked is not None and isinstance(asked.command, cmd.AddAddition)
        self.ask(Said(cmd.Undo()))
        takes_back = (
            asked is None or asked.reason == "said_wrong" or (by_itself and asked.reason == "addition")
        )
        assert self.account == (wanted if takes_back else account)

    @rule(command=st.one_of(st.builds(cmd.AddWater, amounts), st.builds(cmd.AddFlour, amounts), small_talk))
    @precondition(lambda self: self.state.question is None)
    def do_and_undo(self, command: cmd.Command) -> None:
        """Undo right after a command that leaves a step brings batch and timers back to where they were."""
        before, steps = self.state, len(self.state.undo)
        self.ask(Said(command))
        if len(self.state.undo) != steps + 1 or steps + 1 > self.state.undo_depth:
            return
        self.ask(Said(cmd.Undo()))
        assert self.state.batch == before.batch
        assert set(self.state.timers) == {t for t in before.timers if not t.ringing or t in self.state.timers}
        assert (self.state.next_marks, self.state.next_lot) == (before.next_marks, before.next_lot)

    @rule(seconds=st.sampled_from([0.0, 1.0, 9.0, 31.0, 200.0, 1e5]))
    def time_passes(self, seconds: float) -> None:
        """The loop overslept: what is due is done at once, and then nothing is due."""
        self.now += seconds
        self.ask(Due())
        due = next_due(self.state)
        assert due is None or due > self.now

    @rule()
    @precondition(lambda self: next_due(self.state) is not None)
    def next_thing(self) -> None:
        """Just at the moment when something is due."""
        due = next_due(self.state)
        assert due is not None
        self.now = max(self.now, due)
        assert self.ask(Due())

    @rule(hours=st.sampled_from([1.0, 3.6, 4.1]))
    @precondition(lambda self: self.state.unclean is not None and self.state.question is None)
    def hours_pass(self, hours: float) -> None:
        """A tray that is done late has only what is left of its dough's time, and clean down falls due."""
        self.now += hours * 3600
        self.ask(Due())
        if self.state.batch is not None:
            self.ask(Said(cmd.TrayDone()))

    @rule()
    @precondition(lambda self: self.state.unclean is not None and self.state.question is None)
    def clean_down(self) -> None:
        self.ask(Said(cmd.Walk("clean down")))
        for _ in range(8):
            self.ask(Said(cmd.WalkMove("done")))

    @rule()
    @precondition(lambda self: self.state.question is not None)
    def silence(self) -> None:
        """Silence means no: the question goes, the account stays."""
        asked, account = self.state.question, self.account
        assert asked is not None
        self.now = max(self.now, asked.expires)
        self.ask(Due())
        assert self.state.question is None
        assert self.account == account

    @rule(boot=st.floats(0, 100), off=st.floats(0, 1e4), certain=st.booleans())
    def power_cut(self, boot: float, off: float, certain: bool) -> None:
        ringing = {t.name for t in self.state.timers if t.ringing}
        shift = boot - self.now - (off if certain else 0.0)
        self.now = boot

        def moved(account: Account) -> Account:
            return account and tuple(replace(line, at=line.at + shift) for line in account)

        self.account, self.before = moved(self.account), [moved(one) for one in self.before]
        self.ask(Started(shift, certain))
        # Off for nobody knows how long: a tray may be over, and rings as one that may.
        doubted = set() if certain else {t.name for t in self.state.timers if t.kind == "tray"}
        assert {t.name for t in self.state.timers if t.ringing} == ringing | doubted
        assert certain or not [t for t in self.state.timers if t.certain and not t.ringing]

    @invariant()
    def the_journal_gives_the_state(self) -> None:
        assert replay(self.events) == self.state

    @invariant()
    def the_account_is_the_models(self) -> None:
        batch = self.state.batch
        if batch is None:
            assert self.account is None
            return
        assert self.account is not None
        assert [(e.number, e.kind, e.grams) for e in batch.entries] == [
            (line.number, line.kind, line.grams) for line in self.account
        ]
        inside = held(self.account)
        assert math.isclose(batch.poured_g, inside["poured"], abs_tol=1e-6)
        assert math.isclose(batch.water_g, inside["poured"] + inside["carried"], abs_tol=1e-6)
        assert math.isclose(batch.dry_g, inside["dry"], abs_tol=1e-6)
        assert batch.flour_g > 0
        assert math.isclose(batch.product_g, sum(inside.values()), abs_tol=1e-6)
        assert batch.scrap_g == sum(line.grams for line in self.account if line.kind == "scrap")
        waited_for = {one.name for one in batch.to_come}
        assert not waited_for & {*batch.left_out, *(one.name for one in batch.additions)}

    @invariant()
    def marks_are_arithmetic(self) -> None:
        batch = self.state.batch
        if batch is None:
            return
        assert batch.low_pct <= batch.target_pct <= batch.high_pct
        for pct, left in ((batch.low_pct, batch.to_low_g), (batch.target_pct, batch.to_target_g)):
            assert math.isclose(batch.water_g + left, batch.flour_g * pct / 100, abs_tol=1e-6)
        assert math.isclose(batch.hydration_pct, 100 * batch.water_g / batch.flour_g)
        brought = batch.water_g - batch.poured_g + batch.to_come_water_g
        most = max(brought, batch.flour_g * batch.target_pct / 100)
        assert brought - 1e-6 <= batch.first_pour_g <= most + 1e-6

    @invariant()
    def the_clocks_of_food_safety_run_from_the_first_water(self) -> None:
        """US Food Code 3-501.14(B), 4-602.11: from the first wet contact on, whatever is taken back."""
        batch = self.state.batch
        if batch is None or self.account is None:
            return
        wet = next((line.at for line in self.account if line.wets), None)
        assert (wet is None) is (batch.wet_at is None)
        began = batch.opened_at if wet is None else wet
        assert math.isclose(batch.cold_since, began, abs_tol=1e-3)
        for timer in self.state.timers:
            if timer.kind == "tray" and tray_of(timer.name)[0] == batch.number:
                assert timer.due - timer.seconds <= began + 1e-3
                assert math.isclose(timer.seconds, 4 * 3600.0, abs_tol=1e-3)
        if wet is not None and not self.cleaned:
            assert self.state.unclean is not None
            assert self.state.unclean.since <= wet + 1e-3

    @invariant()
    def a_phase_of_waiting_has_its_timer(self) -> None:
        waiting = {Phase.MIXING: "mix", Phase.RESTING: "rest"}.get(self.state.phase)
        if waiting is not None:
            timer = self.state.timer(waiting)
            assert timer is not None
            assert not timer.ringing
        assert len([t for t in self.state.timers if t.name in ("mix", "rest")]) <= 1

    @invariant()
    def something_is_due_while_something_waits(self) -> None:
        called = self.state.crumb_call is not None or self.state.clean_call is not None
        waits = bool(self.state.timers) or self.state.question is not None or called
        assert (next_due(self.state) is not None) is waits
        assert len({t.name for t in self.state.timers}) == len(self.state.timers)


TestKitchens = Kitchens.TestCase
TestKitchens.settings = settings(max_examples=100, stateful_step_count=50, deadline=None, derandomize=True)
