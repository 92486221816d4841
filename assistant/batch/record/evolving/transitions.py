"""The law of the batch: what may happen in which phase, where it leads, and what else follows from an event.

One row per class of events. A phase moves only by this table: a pair that is not in it raises
ImpossibleEvent, for `decide` must never make such an event, whatever the cook says. An event that moves no
phase may happen in every open batch, or at any time where `in_a_batch` is false. A batch whose last event is
withdrawn gets back the phase that it had before it.
"""

from collections.abc import Iterator

from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.clocks import clock_events as clock
from assistant.batch.record.evolving import changes, food_clocks, print_changes, restart, shift_changes
from assistant.batch.record.evolving.undo import withdraw
from assistant.batch.record.hopper import hopper_events as hop
from assistant.batch.record.phases import Moves, Phase, Row, Undone
from assistant.batch.record.press import press_events as press
from assistant.batch.record.printing import print_events as pr
from assistant.batch.record.timer_kinds import tray_name

IDLE, POURING, MIXING = Phase.IDLE, Phase.POURING, Phase.MIXING
RESTING, SQUEEZING, READY, EXTRUDING = Phase.RESTING, Phase.SQUEEZING, Phase.READY, Phase.EXTRUDING


def _all_to(target: Phase, *, but: Moves | None = None) -> Moves:
    """Every phase of an open batch leads to `target`, but for those named."""
    return {phase: target for phase in Phase if phase is not IDLE} | dict(but or {})


MORE_IN: Moves = {
    POURING: POURING,
    MIXING: MIXING,
    RESTING: RESTING,
    SQUEEZING: POURING,
    READY: POURING,
    EXTRUDING: EXTRUDING,
}
"""Water or flour on a crumb that was to be squeezed, or was ready, is a pour again."""

TABLE: dict[type[ev.Event], Row] = {
    # the account
    ev.BatchOpened: Row(
        change=changes.open_batch, moves={IDLE: POURING}, undone=Undone(says="undone_opening"), line="opening"
    ),
    ev.WaterAdded: Row(
        change=changes.enter("water"),
        moves=MORE_IN,
        undone=Undone(says="undone_water", mass="grams"),
        line="water",
    ),
    ev.FlourAdded: Row(
        change=changes.enter("flour"),
        moves=MORE_IN,
        undone=Undone(says="undone_flour", mass="grams"),
        line="flour",
    ),
    # Ingredients go in like water; what is taken out leaves the phase as it is.
    hop.AdditionAdded: Row(
        change=changes.add_addition,
        moves=MORE_IN,
        undone=Undone(says="undone_addition", mass="grams"),
        line="addition",
    ),
    hop.AdditionLeftOut: Row(
        change=changes.leave_out, undone=Undone(what="left_out"), line="addition_left_out"
    ),
    hop.TakenOut: Row(
        change=changes.take_out, undone=Undone(says="undone_taken_out", mass="grams"), line="taken_out"
    ),
    ev.ScrapWeighed: Row(
        change=changes.enter("scrap"), undone=Undone(says="undone_scrap", mass="grams"), line="scrap"
    ),
    ev.EntryCorrected: Row(
        change=changes.correct, undone=Undone(says="undone_correction", mass="was"), line="correction"
    ),
    ev.EntryWeighed: Row(change=changes.weigh, line="weighed"),
    ev.TargetSet: Row(
        change=changes.set_target, in_a_batch=False, undone=Undone(what="target"), line="target"
    ),
    ev.LotNamed: Row(change=changes.name_lot, in_a_batch=False, undone=Undone(what="lot"), line="lot"),
    ev.RecipeChosen: Row(change=changes.choose_recipe, in_a_batch=False, undone=Undone(what="recipe")),
    ev.ConditionTold: Row(change=changes.note_condition, undone=Undone(what="condition"), line="condition"),
    ev.Withdrawn: Row(change=withdraw, in_a_batch=False),
    # time
    ev.MixStarted: Row(
        change=changes.start_mix,
        moves={IDLE: IDLE, **_all_to(MIXING)},
        undone=Undone(says="undone_timer"),
        timer=lambda _: "mix",
        line="mix",
    ),
    ev.MixEnded: Row(
        change=changes.end_interval("mix"),
        moves={MIXING: SQUEEZING},
        undone=Undone(unless_by_clock=True),
        timer=lambda _: "mix",
    ),
    # A rest beside extrusion (of what is still in the hopper, of the cook) leaves the batch where it is.
    ev.RestStarted: Row(
        change=changes.start_rest,
        moves={IDLE: IDLE, **_all_to(RESTING, but={EXTRUDING: EXTRUDING})},
        undone=Undone(says="undone_timer"),
        timer=lambda _: "rest",
        line="rest",
    ),
    ev.RestEnded: Row(
        change=changes.end_interval("rest"),
        moves={RESTING: SQUEEZING, EXTRUDING: EXTRUDING},
        undone=Undone(unless_by_clock=True),
        timer=lambda _: "rest",
    ),
    ev.TimerSet: Row(
        change=changes.set_timer,
        in_a_batch=False,
        undone=Undone(says="undone_timer"),
        timer=lambda event: event.name,
    ),
    ev.TimerExtended: Row(
        change=changes.extend,
        in_a_batch=False,
        undone=Undone(),
        timer=lambda event: event.name,
        line="extended",
    ),
    ev.TimerStopped: Row(
        change=changes.end_timer, in_a_batch=False, undone=Undone(), timer=lambda event: event.name
    ),
    ev.TimerWarned: Row(change=changes.warn, in_a_batch=False),
    ev.TimerRang: Row(change=changes.ring, in_a_batch=False),
    ev.TimerCalled: Row(change=changes.call_again, in_a_batch=False),
    ev.TimerAcknowledged: Row(change=changes.end_timer, in_a_batch=False),
    clock.TimeTold: Row(change=restart.tell_time, in_a_batch=False, line="time_told"),
    clock.TimerDoubted: Row(change=food_clocks.run_on, in_a_batch=False),
    # the crumb, the die, the end
    ev.CrumbJudged: Row(
        change=changes.judge,
        variant="verdict",
        moves_by={
            "dry": _all_to(POURING, but={EXTRUDING: EXTRUDING}),
            "ready": _all_to(READY, but={EXTRUDING: EXTRUDING}),
            "wet": _all_to(POURING, but={EXTRUDING: EXTRUDING}),
        },
        undone=Undone(says="undone_crumb"),
        ends_intervals=True,
        line="crumb",
    ),
    ev.ExtrudingStarted: Row(
        change=changes.extrude,
        moves=_all_to(EXTRUDING),
        undone=Undone(what="extruding"),
        ends_intervals=True,
        line="extruding",
    ),
    ev.DieNamed: Row(change=changes.name_die, undone=Undone(what="die"), line="die"),
    sh.CrumbLeft: Row(change=shift_changes.mention_crumb),
    sh.DieWarmed: Row(change=shift_changes.warm_die, undone=Undone(what="die"), line="die_warm"),
    press.DieCleaned: Row(
        change=shift_changes.clean_die, in_a_batch=False, undone=Undone(what="die"), line="die_cleaned"
    ),
    ev.TrayFilled: Row(
        change=changes.fill_tray,
        undone=Undone(what="tray"),
        timer=lambda event: None if event.due is None else tray_name(event.batch, event.tray),
        line="tray",
    ),
    sh.TrayChilled: Row(
        change=shift_changes.chill_tray,
        in_a_batch=False,
        undone=Undone(what="tray"),
        timer=lambda event: tray_name(event.batch, event.tray),
        line="tray_cold",
    ),
    press.TraysSlowed: Row(change=shift_changes.call_slow, line="trays_slow"),
    sh.CleanDownCalled: Row(change=food_clocks.call_clean_down, in_a_batch=False, line="clean_down_called"),
    sh.CookNamed: Row(change=shift_changes.name_cook, in_a_batch=False, line="cook"),
    sh.CutterTold: Row(change=shift_changes.set_cutter, in_a_batch=False, line="cutter"),
    ev.PortionsCounted: Row(change=changes.count_portions, undone=Undone(what="portions"), line="portions"),
    ev.BatchClosed: Row(
        change=changes.close,
        moves=_all_to(IDLE),
        undone=Undone(says="undone_closing"),
        ends_intervals=True,
        line="closed",
    ),
    ev.BatchDropped: Row(
        change=changes.drop,
        moves=_all_to(IDLE),
        undone=Undone(says="undone_closing"),
        ends_intervals=True,
        line="dropped",
    ),
    # questions and the station
    ev.QuestionAsked: Row(change=changes.ask, in_a_batch=False, line="asked"),
    ev.QuestionSettled: Row(change=changes.settle, in_a_batch=False),
    ev.ListeningSet: Row(change=changes.set_listening, in_a_batch=False),
    ev.LoudnessSet: Row(change=changes.set_loudness, in_a_batch=False),
    ev.PaceSet: Row(change=changes.set_pace, in_a_batch=False),
    ev.StationStarted: Row(change=restart.start, in_a_batch=False, line="restarted"),
    clock.TimeOffKnown: Row(change=restart.know_time_off, in_a_batch=False, line="time_off"),
    # paper: what was printed can't be taken back
    pr.PrintAsked: Row(change=print_changes.ask, in_a_batch=False),
    pr.PrintEnded: Row(change=print_changes.end, in_a_batch=False),
    pr.PrintsTriedAgain: Row(change=print_changes.try_again, in_a_batch=False),
    # walk-throughs
    sh.WalkBegan: Row(change=shift_changes.begin_walk, in_a_batch=False, line="walk_begun"),
    sh.StepSettled: Row(change=shift_changes.settle_step, in_a_batch=False, line="walk_step"),
    sh.StepBack: Row(change=shift_changes.step_back, in_a_batch=False),
    sh.WalkLeft: Row(change=shift_changes.leave_walk, in_a_batch=False, line="walk_left"),
    sh.WalkResumed: Row(change=shift_changes.resume_walk, in_a_batch=False, line="walk_resumed"),
    sh.WalkEnded: Row(change=shift_changes.end_walk, in_a_batch=False, line="walk_over"),
}

EVENTS: dict[str, type[ev.Event]] = {kind.__name__: kind for kind in TABLE}
"""Name in the journal -> class. A name that was ever written stays."""


def row_name(event: ev.Event) -> str:
    """Name of an event's class, with the field that picks its moves."""
    row = TABLE[type(event)]
    return type(event).__name__ + (f" {getattr(event, row.variant)}" if row.variant else "")


def moves() -> Iterator[tuple[str, Moves]]:
    """Every named move of the table: name, and phases from and to."""
    for kind, row in TABLE.items():
        if row.moves is not None:
            yield kind.__name__, row.moves
        for variant, cells in row.moves_by.items():
            yield f"{kind.__name__} {variant}", cells


def diagram() -> str:
    """The table drawn as a Mermaid state diagram."""
    lines = ["stateDiagram-v2", "    [*] --> idle"]
    for name, cells in moves():
        for source, target in cells.items():
            if source is not target:
                lines.append(f"    {source.value} --> {target.value}: {name}")
    return "\n".join(lines)
