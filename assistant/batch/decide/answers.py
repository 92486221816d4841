"""What the station answers when it is asked: the account, the time, the next step, help."""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.end_of_day import say_day
from assistant.batch.decide.making.additions import ask_addition
from assistant.batch.decide.making.after_the_die import say_dough_left
from assistant.batch.decide.making.crumb import say_wet, top_up_g
from assistant.batch.decide.making.flour import say_planned
from assistant.batch.decide.making.marks import say_rescue
from assistant.batch.decide.timing.cleaning import say_unclean
from assistant.batch.decide.timing.ringing import is_doubted, say_time_left, say_timer
from assistant.batch.decide.timing.timers import mix_s
from assistant.batch.decide.walks import say_step
from assistant.batch.record.announcements import Announcement
from assistant.batch.record.batch import HALF_GRAM, Batch, Standing
from assistant.batch.record.commands import Ask, Incomplete, Together, TrayStored
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.batch.record.state import Question, State, Timer


def next_step(
    state: State, now: float, rules: BatchRules, known: Known = NOTHING
) -> tuple[Announcement, ...]:
    """What "what next" is answered with, whether the station listens or not; nothing happens by it."""
    draft = Draft(state, now, rules, known=known)
    say_next(draft)
    return tuple(draft.announcements)


def answer(d: Draft, command: Ask) -> None:
    """Answer a question of the cook's; nothing happens by it, but that an addition may be asked for again."""
    if command.topic == "time":
        _time(d)
    elif command.topic == "next":
        say_next(d)
    elif command.topic == "plan":
        if not say_planned(d):
            d.say("plan_over")
    elif command.topic == "day":
        say_day(d)
    elif command.topic == "help":
        _help(d)
    elif d.state.batch is None:
        d.say("no_batch")
    else:
        _about(d, d.state.batch, command)


def _about(d: Draft, batch: Batch, command: Ask) -> None:
    match command.topic:
        case "in":
            d.say("account", water=batch.water_g, flour=batch.flour_g)
        case "hydration":
            d.say("hydration", hydration=batch.hydration_pct, target=batch.target_pct)
        case "left":
            say_left(d, batch)
        case "dough":
            say_dough_left(d, batch)
        case _:
            d.say(
                "where",
                batch=batch.number,
                flour=batch.flour_g,
                water=batch.water_g,
                hydration=batch.hydration_pct,
            )
            if batch.standing is Standing.SHORT and batch.pour_to_pct is None:
                d.say("left", grams=batch.to_pour_g(batch.target_pct))
            else:
                say_left(d, batch)
            ask_addition(d)


def say_left(d: Draft, batch: Batch) -> None:
    """Water left to pour to the target and to high, or by how much it is past, additions to come counted."""
    to_target, to_high = batch.to_pour_g(batch.target_pct), batch.to_pour_g(batch.high_pct)
    if batch.pour_to_pct is not None and batch.to_next_g > HALF_GRAM:
        d.say("left", grams=batch.to_next_g)
        return
    match batch.standing:
        case Standing.SHORT:
            d.say("to_marks", to_target=to_target, to_high=to_high)
        case Standing.ON_TARGET:
            d.say("on_target")
        case Standing.PAST_TARGET:
            d.say("past_target", over=-to_target, to_high=to_high)
        case Standing.AT_HIGH:
            d.say("at_high")
        case Standing.OVER_HIGH:
            d.say("over_high", grams=-to_high)


def _time(d: Draft) -> None:
    """What is left on the two timers that are due next, and how many more run."""
    timers = _told_apart(d.state)
    if not timers and d.state.unclean is not None:
        say_unclean(d, d.state.unclean)
    elif not timers:
        d.say("timer_none")
    elif len(timers) == 1 or (len(timers) == 2 and all(t.ringing or _is_plain(t) for t in timers)):
        for timer in timers:
            _say_time(d, timer)
    elif _is_plain(timers[0]) and _is_plain(timers[1]):
        first, second = timers[0], timers[1]
        seconds, later = first.remaining_s(d.now), second.remaining_s(d.now)
        d.say("time_left_two", timer=first.name, seconds=seconds, other=second.name, later=later)
        d.say("timers_more", count=len(timers) - 2)
    else:
        _say_time(d, timers[0])
        d.say("timers_more", count=len(timers) - 1)


def _told_apart(state: State) -> list[Timer]:
    """All timers, the next due first; of clocks that have no name to the cook, that one says enough."""
    timers = sorted(state.timers, key=lambda t: t.due)
    nameless = dict[str, Timer]()
    for timer in timers:
        if not timer.traits.by_name:
            nameless.setdefault(timer.kind, timer)
    return [timer for timer in timers if nameless.get(timer.kind, timer) is timer]


def _is_plain(timer: Timer) -> bool:
    """Whether what is left of a timer is said in few words: it is certain, runs, and has a name."""
    return timer.certain and not timer.ringing and timer.traits.by_name


def _say_time(d: Draft, timer: Timer) -> None:
    if timer.ringing and not is_doubted(timer, d.now):
        say_timer(d, timer, timer.traits.rings)
    else:
        say_time_left(d, timer)


def say_next(d: Draft) -> None:
    """The one sensible step from here; an addition that is not in yet is asked for before the others."""
    batch = d.state.batch
    if d.state.ringing:
        loudest = d.state.ringing[0]
        if is_doubted(loudest, d.now):
            say_time_left(d, loudest)
        else:
            say_timer(d, loudest, loudest.traits.next_step)
        if d.state.walk is not None or not loudest.traits.by_name:
            # What rings is enough for one answer; the step is asked for again.
            return
    if d.state.walk is not None:
        say_step(d)
        return
    if batch is None:
        if not d.state.ringing and not say_planned(d):
            d.say("next_open")
        return
    if ask_addition(d):
        return
    match batch.phase:
        case Phase.SQUEEZING:
            d.say("next_squeeze")
        case Phase.READY:
            d.say("next_extrude")
        case Phase.EXTRUDING:
            d.say("next_close" if batch.die_warm else "next_trim")
        case Phase.MIXING | Phase.RESTING:
            _say_wait(d, batch)
        case _:
            _say_pour(d, batch)


def _say_wait(d: Draft, batch: Batch) -> None:
    for timer in d.state.timers:
        if timer.traits.interval is not None and timer.traits.interval.phase is batch.phase:
            say_timer(d, timer, timer.traits.interval.waits)
            return
    d.say("next_squeeze")


def _say_pour(d: Draft, batch: Batch) -> None:
    """While pouring: what a wet dough wants, else water to the next mark, a top-up, or mixing."""
    if batch.crumb == "wet":
        say_wet(d, batch)
    elif batch.standing is Standing.OVER_HIGH and batch.crumb != "dry":
        say_rescue(d, batch)
    elif batch.held:
        d.say("next_mix", seconds=mix_s(batch, d.rules))
    elif batch.pour_to_pct is not None and batch.to_next_g > HALF_GRAM:
        d.say("next_pour", grams=batch.to_next_g)
    elif batch.pour_to_pct is not None:
        d.say("next_mix", seconds=mix_s(batch, d.rules))
    elif batch.to_first_pour_g > HALF_GRAM:
        d.say("next_first_pour", grams=batch.to_first_pour_g)
    elif batch.crumb == "dry" and batch.standing is not Standing.SHORT:
        step = top_up_g(batch, d.rules)
        if step >= 1.0:
            d.say("next_pour", grams=step)
        else:
            d.say("dry_at_high", high=batch.high_pct)
    elif batch.looked and batch.standing is Standing.SHORT:
        d.say("next_pour", grams=batch.to_pour_g(batch.target_pct))
    else:
        d.say("next_mix", seconds=mix_s(batch, d.rules))


def wanted(state: State, now: float, rules: BatchRules) -> tuple[Announcement, ...]:
    """What says again what the open question asks; nothing happens by it."""
    draft = Draft(state, now, rules)
    if state.question is not None:
        say_wanted(draft, state.question)
    return tuple(draft.announcements)


def say_wanted(d: Draft, question: Question) -> None:
    """Say what answers the open question."""
    command = question.command
    wanted = command.commands[0] if isinstance(command, Together) else command
    if question.reason == "addition":
        ask_addition(d)
    elif isinstance(wanted, TrayStored):
        d.say("ask_tray", "question", celsius=d.rules.food.celsius)
    elif not isinstance(wanted, Incomplete) or question.reason not in ("missing", "said_wrong"):
        d.say("yes_or_no", "question")
    elif question.reason == "said_wrong":
        d.say("what_then", "question", command=wanted.command)
    elif wanted.command == "stop_timer":
        d.say("timer_which", "question")
    else:
        d.say("number_missing", "question", command=wanted.command)


def slot_is_open(question: Question) -> bool:
    """Whether a question wants a value: yes is no answer to it."""
    return question.reason in ("missing", "said_wrong") or isinstance(question.command, TrayStored)


def _help(d: Draft) -> None:
    """The commands that matter now; asked again, the next few."""
    if d.state.question is not None:
        if slot_is_open(d.state.question):
            say_wanted(d, d.state.question)
        else:
            d.say("help_question")
        return
    if d.state.walk is not None:
        d.say("help_walk")
        return
    pages = (_HELP[d.state.phase], *_HELP_MORE)
    d.say(pages[d.again % len(pages)])


_HELP: dict[Phase, str] = {
    Phase.IDLE: "help_idle",
    Phase.POURING: "help_pouring",
    Phase.MIXING: "help_waiting",
    Phase.RESTING: "help_waiting",
    Phase.SQUEEZING: "help_squeeze",
    Phase.READY: "help_ready",
    Phase.EXTRUDING: "help_extruding",
}
"""The commands that matter in each phase."""

_HELP_MORE = ("help_numbers", "help_mend", "help_timers", "help_plan", "help_asking")
"""What help goes on with when it is asked for again."""
