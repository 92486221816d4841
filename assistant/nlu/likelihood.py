"""How unexpected a command is at this moment of the batch: for hypotheses that score nearly alike. Pure.

Common practice, no source: cooks pour round figures towards the next mark, and say what can be done now. It
only decides between hypotheses that score nearly alike; an odd figure that was heard clearly stays.
"""

from assistant.batch.decide.handlers import HANDLERS
from assistant.batch.record import commands as cmd
from assistant.batch.record.hopper.entries import OUT
from assistant.batch.record.rules import LEAST_FLOUR_G, BatchRules
from assistant.batch.record.state import Batch, State
from assistant.dough.amounts import Amount, density_g_per_ml

LEAST_POUR_G = 5.0
LEAST_PORTION_G = 50.0
USUAL_TARGET_PCT = (26.0, 40.0)
LONGEST_MIX_S, LONGEST_REST_S, LONGEST_TIMER_S = 900.0, 7200.0, 10_800.0


def surprise(state: State, command: cmd.Command | None, rules: BatchRules) -> float:
    """0 for what is expected now, to 1 for what could hardly be meant.

    None, a sentence without a meaning, is 1.
    """
    if command is None:
        return 1.0
    if state.batch is None and HANDLERS[type(command)].needs_batch:
        return 1.0
    match command:
        case cmd.Incomplete():
            return 0.7
        case cmd.NewBatch():
            return _new_batch(state, _grams(command.flour, rules), rules)
        case cmd.AddWater() | cmd.AddFlour() | cmd.MakeThat() | cmd.Scrap() | cmd.TookOut() if (
            state.batch is not None
        ):
            return _entry(state.batch, command, rules)
        case cmd.PourRest() if state.batch is not None:
            return 1.0 if state.batch.to_pour_g(state.batch.target_pct) <= 0 else 0.0
        case cmd.SetTarget():
            low, high = USUAL_TARGET_PCT
            return _whole(command.percent) * 0.3 if low <= command.percent <= high else 1.0
        case cmd.Portions() if state.batch is not None:
            return 0.0 if 0 < command.count * LEAST_PORTION_G <= state.batch.product_g else 1.0
        case cmd.SetLot():
            return 0.0 if len(command.lot) > 1 else 0.5
        case _:
            return _time(state, command)


def _new_batch(state: State, flour: float, rules: BatchRules) -> float:
    """1 while another batch is open; flour fits the hopper with its water, and is round."""
    fits = flour >= LEAST_FLOUR_G and flour * (1 + rules.target_pct / 100) <= rules.hopper_g
    return 1.0 if state.batch is not None or not fits else _roundness(flour, 50.0)


def _entry(
    batch: Batch,
    command: cmd.AddWater | cmd.AddFlour | cmd.MakeThat | cmd.Scrap | cmd.TookOut,
    rules: BatchRules,
) -> float:
    """Surprise of an amount: past what the batch can take, else by its roundness.

    What reaches a mark is expected.
    """
    grams = _grams(command.amount, rules)
    last = batch.entries[-1]
    kind = last.kind if isinstance(command, cmd.MakeThat) else None
    if grams < LEAST_POUR_G:
        return 1.0
    if isinstance(command, cmd.AddFlour) or kind == "flour":
        instead_of = last.grams if kind else 0.0
        return 1.0 if batch.product_g - instead_of + grams > batch.hopper_g else _roundness(grams, 5.0)
    if isinstance(command, cmd.TookOut) or kind in OUT.values():
        return 1.0 if grams > batch.product_g else _roundness(grams, 5.0)
    if isinstance(command, cmd.Scrap) or kind == "scrap":
        return 1.0 if grams > batch.product_g / 3 else _roundness(grams, 5.0)
    if kind is not None and abs(grams - last.grams) < 1:
        return 0.7
    to_high = batch.to_pour_g(batch.high_pct)
    room = to_high + (last.grams if kind else 0.0)
    marks = (
        batch.to_pour_g(batch.target_pct),
        to_high,
        batch.to_pour_g(batch.low_pct),
        batch.to_first_pour_g,
    )
    if kind is None and any(abs(grams - mark) <= 1.0 for mark in marks):
        return 0.0
    return 1.0 if grams > room + 1.0 else _roundness(grams, 10.0 if grams >= 100 else 5.0)


def _time(state: State, command: cmd.Command) -> float:
    """Surprise of commands about time."""
    match command:
        case cmd.GotIt():
            return 0.0 if state.ringing else 0.7
        case cmd.StopTimer() | cmd.AddTime() if not state.timers:
            return 1.0
        case cmd.StopTimer(name=name) | cmd.AddTime(name=name) if (
            name is not None and state.timer(name) is None
        ):
            return 1.0
        case cmd.Mix(seconds=seconds) if seconds is not None:
            return _length(seconds, LONGEST_MIX_S)
        case cmd.Rest(seconds=seconds) if seconds is not None:
            return _length(seconds, LONGEST_REST_S)
        case cmd.SetTimer(seconds=seconds):
            return _length(seconds, LONGEST_TIMER_S)
        case _:
            return 0.0


def _length(seconds: float, longest: float) -> float:
    """Surprise of a time: minutes to a quarter, then multiples of five, seconds of fifteen."""
    if not 0 < seconds <= longest:
        return 1.0
    whole_minutes = seconds % 60 == 0
    round_figure = (
        seconds % 300 == 0 or (whole_minutes and seconds <= 900) or (seconds <= 300 and seconds % 15 == 0)
    )
    return 0.0 if round_figure else 0.4 if whole_minutes else 0.6


def _roundness(grams: float, step: float) -> float:
    """0 for multiples of the step, more for what is less round, 0.6 for an odd figure."""
    for surprise_of_step, multiple in ((0.0, step), (0.25, step / 2), (0.4, step / 5)):
        if multiple > 1 and grams % multiple == 0:
            return surprise_of_step
    return 0.6


def _whole(value: float) -> float:
    return 0.0 if float(value).is_integer() else 1.0


def _grams(amount: Amount, rules: BatchRules) -> float:
    return amount.grams(density_g_per_ml(rules.water_temperature_c))
