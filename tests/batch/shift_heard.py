"""Short kitchens that end in each announcement of the day around the batch; see `test_answers`."""

from assistant.batch.commands import Ask, Command
from assistant.batch.shift_commands import Walk, WalkMove

CLEAN = Walk("clean down")
DONE, NEXT, BACK, SKIP, LEAVE = (
    WalkMove("done"),
    WalkMove("next"),
    WalkMove("back"),
    WalkMove("skip"),
    WalkMove("leave"),
)
UNCERTAIN = "power cut"

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
}
