"""The crumb's verdicts and the steps that follow, extruding, and the end of a batch."""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.additions import asked_before
from assistant.batch.decide.making.flour import asked_about_lot, forecast_in
from assistant.batch.decide.making.marks import is_far_outside, out_and_flour_g, wet_mark_pct, wet_rescue
from assistant.batch.record import events as ev
from assistant.batch.record.announcements import Tone
from assistant.batch.record.batch import HALF_GRAM, Batch, Standing
from assistant.batch.record.commands import CloseBatch, DropBatch, Extruding, JudgeCrumb
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import Timer
from assistant.dough.flour.staging import after_dry_pct, is_well_known
from assistant.dough.hydration import round_down


def pour_on_g(d: Draft, batch: Batch) -> float | None:
    """Water (g) to pour after a crumb called dry, by what is known of its lot: whole grams, never past high.

    None: the kitchen's rule stands.
    """
    forecast = forecast_in(d, batch)
    if _lacks_first_pour(d, batch) or not is_well_known(forecast):
        return None
    pct = after_dry_pct(
        batch.hydration_pct,
        forecast,
        target_pct=batch.target_pct,
        high_pct=batch.high_pct,
        step_pct=d.rules.step_pct,
        again=batch.was_dry,
    )
    grams = round_down(batch.to_pour_g(pct), 1.0)
    return grams if grams >= 1.0 else None


def top_up_g(batch: Batch, rules: BatchRules) -> float:
    """Water (g) of the next top-up: a step of the flour, never past high; 0 at high."""
    most = batch.to_pour_g(batch.high_pct)
    return max(0.0, round_down(min(batch.flour_g * rules.step_pct / 100.0, most), 1.0))


def judge(d: Draft, command: JudgeCrumb) -> None:
    """Log a squeeze and say the step that follows; ready far outside the marks only with a yes.

    An addition that nobody has told of is asked about before: with it in, the squeeze says something else. Of
    a verdict that was heard badly it is asked first whether it was said.
    """
    sure_first = d.doubtful and bool(d.batch.to_come)
    to_ask = d.settled != "far_from_marks" and not sure_first
    if to_ask and asked_before(d, command):
        return
    far = is_ready_far_off(d, command)
    if to_ask and far:
        _ask_far(d, d.batch, command, "ask_far_ready")
        return
    if d.doubtful:
        d.ask_whether_meant(command)
        return
    wait = d.rules.ready_call_s if command.verdict == "ready" else 0.0
    pour = pour_on_g(d, d.batch) if command.verdict == "dry" else None
    d.happen(
        ev.CrumbJudged(
            at=d.now,
            verdict=command.verdict,
            hydration_pct=d.batch.hydration_pct,
            far=far,
            call_at=d.now + wait if wait > 0 else None,
            pour_to_pct=None if pour is None else d.batch.with_poured_pct(pour),
            cook=d.state.cook or d.rules.cook or None,
        )
    )
    batch = d.batch
    match command.verdict:
        case "dry":
            _dry(d, batch)
        case "ready":
            _ready(d, batch)
        case "wet":
            say_wet(d, batch, "taken")


def is_ready_far_off(d: Draft, command: JudgeCrumb) -> bool:
    """Whether a verdict calls a crumb ready far outside the marks."""
    return command.verdict == "ready" and _is_far(d, d.batch)


def _dry(d: Draft, batch: Batch) -> None:
    if batch.pour_to_pct is not None and batch.topping:
        d.say("top_up", "taken", grams=batch.to_next_g, seconds=d.rules.top_up_mix_s)
    elif batch.pour_to_pct is not None:
        d.say("pour_on", "taken", grams=batch.to_next_g)
    elif _lacks_first_pour(d, batch):
        d.say("pour_on", "taken", grams=batch.to_first_pour_g)
    elif batch.standing is Standing.SHORT:
        d.say("pour_on", "taken", grams=batch.to_pour_g(batch.target_pct))
    elif (step := top_up_g(batch, d.rules)) >= 1.0:
        d.say("top_up", "taken", grams=step, seconds=d.rules.top_up_mix_s)
    else:
        d.say("dry_at_high", "taken", high=batch.high_pct)


def _lacks_first_pour(d: Draft, batch: Batch) -> bool:
    """Whether what lacks to the first look is poured first: not where that is less than a step."""
    return batch.to_first_pour_g > batch.flour_g * d.rules.step_pct / 100.0


def _ready(d: Draft, batch: Batch) -> None:
    if batch.to_low_g > HALF_GRAM:
        d.say("crumb_ready_low", "taken", hydration=batch.hydration_pct, low=batch.low_pct)
    else:
        d.say("crumb_ready", "taken", hydration=batch.hydration_pct)


def say_wet(d: Draft, batch: Batch, tone: Tone | None = None) -> None:
    """What a wet crumb wants: time below the target or at low, else flour."""
    found = wet_rescue(batch)
    if found is None or found.whole_g <= 0:
        d.say("wet_wait", tone)
        return
    mark, (out, flour) = wet_mark_pct(batch), out_and_flour_g(found, batch)
    if out > 0:
        d.say("wet_flour_over_hopper", tone, flour=flour, hydration=mark, over=out)
    else:
        d.say("wet_flour", tone, flour=flour, hydration=mark)


def extrude(d: Draft, _command: Extruding) -> None:
    """Dough goes through the die; a caution where it is under low or not called ready, never a refusal."""
    batch = d.batch
    early = batch.crumb != "ready"
    d.happen(ev.ExtrudingStarted(at=d.now, early=early))
    if batch.water_g <= 0:
        d.say("extruding_dry", "question")
    elif early:
        d.say("extruding_early", "question")
    elif batch.to_low_g > HALF_GRAM:
        d.say("extruding_low", "question", hydration=batch.hydration_pct, low=batch.low_pct)
    else:
        d.say("extruding", "taken", hydration=batch.hydration_pct)
        if not batch.die_warm:
            d.say("trim_first")


def close(d: Draft, command: CloseBatch | DropBatch) -> None:
    """End the batch.

    Only after a yes with its mixing or resting still running, far outside its marks, or far from its lot.
    """
    batch = d.batch
    as_heard = d.settled is None and not d.doubtful
    if isinstance(command, CloseBatch) and as_heard and asked_before(d, command):
        return
    if not d.confirmed:
        running = _running(d)
        if running is not None:
            left = running.remaining_s(d.now)
            d.ask("time_running", command, "ask_time_running", timer=running.name, seconds=left)
            return
        if d.unsure:
            d.ask_whether_meant(command)
            return
    if isinstance(command, DropBatch):
        d.happen(ev.BatchDropped(at=d.now))
        d.say("batch_dropped", "taken", batch=batch.number)
        return
    far = batch.water_g > 0 and _is_far(d, batch)
    # One yes to the figure is enough, whatever it is far from.
    if d.settled not in ("far_from_marks", "far_from_lot"):
        if far:
            _ask_far(d, batch, command, "ask_far_close")
            return
        if asked_about_lot(d, batch, command):
            return
    d.happen(ev.BatchClosed(at=d.now, far=far))
    if batch.water_g > 0:
        d.say(
            "batch_closed",
            "taken",
            batch=batch.number,
            flour=batch.flour_g,
            water=batch.water_g,
            hydration=batch.hydration_pct,
        )
    else:
        d.say("batch_closed_dry", "taken", batch=batch.number, flour=batch.flour_g)


def _is_far(d: Draft, batch: Batch) -> bool:
    return is_far_outside(batch, forecast_in(d, batch))


def _ask_far(d: Draft, batch: Batch, command: JudgeCrumb | CloseBatch, key: str) -> None:
    d.ask(
        "far_from_marks",
        command,
        key,
        hydration=batch.hydration_pct,
        low=batch.low_pct,
        high=batch.high_pct,
    )


def _running(d: Draft) -> Timer | None:
    """The batch's own timer that still runs."""
    return next((t for t in d.state.timers if t.traits.interval and not t.ringing), None)
