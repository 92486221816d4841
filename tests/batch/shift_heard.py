"""Short kitchens that end in each announcement of the day around the batch; see `test_answers`."""

from assistant.batch.record.commands import (
    Ask,
    Command,
    Cook,
    Cutter,
    DieWarm,
    Extruding,
    GotIt,
    JudgeCrumb,
    NewBatch,
    PourRest,
    Rest,
    TrayCold,
    TrayDone,
    Walk,
    WalkMove,
)
from assistant.dough.amounts import Amount

PREP, LATE, PLANNING = "prep calls", "overslept", "a plan"
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
    "walk_waits": [CLEAN, SKIP],
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
    "rest_rings_prep": [PREP, NEW, Rest(600), 600.0],
    "prep_rest_over": [PREP, Rest(600), 600.0],
    "next_planned": [PLANNING, Ask("plan")],
    "batch_opened_planned": [PLANNING, NEW],
    "plan_over": [Ask("plan")],
    "rest_rings_late": [NEW, Rest(60), LATE, 0.0],
    "cook_rings_late": [Cook("penne"), 360.0, 60.0, 30.0],
    "got_it_tray": [NEW, TRAY, 14400.0, GotIt()],
    "tray_left_unsure": [NEW, TRAY, UNCERTAIN, Ask("time")],
}
