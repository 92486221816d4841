"""Short kitchens that end in each announcement of the day around the batch; see `test_answers`."""

from assistant.batch.record.commands import (
    Ask,
    CloseBatch,
    Command,
    Cook,
    Cutter,
    DieWarm,
    Extruding,
    JudgeCrumb,
    NewBatch,
    PourRest,
    Practice,
    Rest,
    TrayCold,
    TrayDone,
    Walk,
    WalkMove,
)
from assistant.dough.amounts import Amount

PREP, LATE, PLANNING = "prep calls", "overslept", "a plan"
DAY, NO_BATCH_TODAY, DAY_AND_PLAN = "a day", "a day without a batch", "a day and a plan"
DAY_AND_STOCK = "a day, a plan, and a shelf that is nearly empty"
CLEAN = Walk("clean down")
DONE, NEXT, BACK, SKIP, LEAVE = (
    WalkMove("done"),
    WalkMove("next"),
    WalkMove("back"),
    WalkMove("skip"),
    WalkMove("leave"),
)
UNCERTAIN = "power cut"
NEW, TRAY = NewBatch(Amount(1500)), TrayDone()
SPEED, LENGTH = Cutter("speed", 40), Cutter("length", 35)

SHIFT_HEARD: dict[str, list[Command | float | str]] = {
    "help_walk": [CLEAN, Ask("help")],
    "walk_begun": [CLEAN],
    "walk_step": [CLEAN],
    "walk_caution": [CLEAN, DONE],
    "walk_safety": [CLEAN, NEXT],
    "walk_skipped": [CLEAN, DONE, SKIP],
    "walk_skipped_safety": [CLEAN, SKIP],
    "walk_at_first": [CLEAN, BACK],
    "walk_left": [CLEAN, LEAVE],
    "walk_resumed": [CLEAN, LEAVE, CLEAN],
    "walk_over": [CLEAN, DONE, NEXT, DONE],
    "walk_over_skipped": [CLEAN, DONE, NEXT, SKIP],
    "walk_unknown": [Walk("stock take")],
    "trim_first": [NEW, PourRest(), JudgeCrumb("ready"), Extruding()],
    "next_trim": [NEW, Extruding(), Ask("next")],
    "next_tray": [NEW, TRAY, 14400.0, Ask("next")],
    "help_ready": [NEW, PourRest(), JudgeCrumb("ready"), Ask("help")],
    "die_warm": [NEW, DieWarm()],
    "dough_left": [NEW, Ask("dough")],
    "tray_care": [NEW, TRAY],
    "tray_cold": [NEW, TRAY, TrayCold()],
    "tray_cold_late": [NEW, TRAY, 14400.0, TrayCold(1)],
    "tray_unknown": [NEW, TRAY, TrayCold(2)],
    "tray_warning": [NEW, TRAY, 12600.0],
    "tray_rings": [NEW, TRAY, 14400.0],
    "tray_left": [NEW, TRAY, Ask("time")],
    "trays_unsure": [NEW, TRAY, UNCERTAIN],
    "cutter_speed": [SPEED],
    "cutter_length": [SPEED, LENGTH],
    "cutter_no_speed": [LENGTH],
    "cutter_no_length": [SPEED, Cutter("want", 30)],
    "cutter_wanted": [SPEED, LENGTH, Cutter("want", 30)],
    "cooking_for": [Cook("penne")],
    "taste_one": [Cook("penne"), 300.0],
    "cook_rings": [Cook("penne"), 360.0],
    "rest_half": [NEW, Rest(600), 300.0],
    "rest_warning": [NEW, Rest(600), 540.0],
    "prep_rest": [PREP, NEW, Rest(600)],
    "prep_rest_over": [PREP, NEW, Rest(600), 600.0],
    "next_planned": [PLANNING, Ask("plan")],
    "planned_die": [PLANNING, NEW],
    "plan_over": [Ask("plan")],
    "day_open": [DAY, NEW, Ask("day")],
    "day_made": [DAY, Ask("day")],
    "day_nothing": [NO_BATCH_TODAY, Ask("day")],
    "day_unknown": [Ask("day")],
    "day_trays": [DAY, NEW, TrayDone(), CloseBatch(), Ask("day")],
    "day_made_short": [DAY, NEW, Ask("day")],
    "day_wanted": [DAY_AND_PLAN, Ask("day")],
    "day_order": [DAY_AND_STOCK, Ask("day")],
    "day_lots": [DAY, Ask("day")],
    "practice_begun": [Practice(on=True)],
    "practice_refused": [NEW, Practice(on=True)],
    "practice_none": [Practice(on=False)],
    "late": [NEW, Rest(60), LATE, 0.0],
}
