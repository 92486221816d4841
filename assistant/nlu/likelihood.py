"""How unexpected a command is at this moment of the batch: for hypotheses that score nearly alike. Pure.

Common practice, no source: cooks pour round figures towards the next mark, and say what can be done now. It
only decides between hypotheses that score nearly alike; an odd figure that was heard clearly stays.
"""

from assistant.batch.decide.handlers import HANDLERS
from assistant.batch.decide.making.expected import roundness, surprise_of
from assistant.batch.record import commands as cmd
from assistant.batch.record.batch import Batch
from assistant.batch.record.rules import LEAST_FLOUR_G, BatchRules
from assistant.batch.record.state import State
from assistant.dough.amounts import Amount, density_g_per_ml

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
        case cmd.SameAgain():
            return 1.0 if state.batch is not None or state.made_of is None else 0.0
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
    return 1.0 if state.batch is not None or not fits else roundness(flour, 50.0)


def _entry(
    batch: Batch,
    command: cmd.AddWater | cmd.AddFlour | cmd.MakeThat | cmd.Scrap | cmd.TookOut,
    rules: BatchRules,
) -> float:
    grams = _grams(command.amount, rules)
    match command:
        case cmd.AddWater():
            return surprise_of(batch, "water", grams)
        case cmd.AddFlour():
            return surprise_of(batch, "flour", grams)
        case cmd.Scrap():
            return surprise_of(batch, "scrap", grams)
        case cmd.TookOut():
            return surprise_of(batch, "dough_out", grams)
        case cmd.MakeThat():
            last = batch.entries[-1]
            return surprise_of(batch, last.kind, grams, instead_of=last.grams)


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
        case cmd.PrepRest(seconds=seconds):
            return _length(seconds, LONGEST_REST_S)
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


def _whole(value: float) -> float:
    return 0.0 if float(value).is_integer() else 1.0


def _grams(amount: Amount, rules: BatchRules) -> float:
    return amount.grams(density_g_per_ml(rules.water_temperature_c))
