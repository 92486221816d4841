"""Which announcements a turn leaves out, or says in a shorter form, where it would be too long."""

from collections.abc import Mapping

CAN_WAIT: tuple[str, ...] = (
    # What is left by it says more than for how long it was off.
    "time_off_known",
    # "Time left" and "how much left" give these, and a ring comes by itself.
    "timers_more",
    "left",
    "time_left",
    "tray_left",
    "next_got_it",
    # "What next" gives these, and the crumb call does.
    "lot_first_pour",
    "lot_first_pour_pct",
    "lot_unknown",
    "lot_coarse",
    "lot_climbs",
    "first_pour",
    "trim_first",
    "mix_then_squeeze",
    "on_target",
    "on_target_mix",
    "at_high",
    "at_high_mix",
    # What follows them says as much, or "what next" does.
    "walk_begun",
    "walk_resumed",
    "walk_at_first",
    "walk_skipped",
    "walk_waits",
    "walk_over_skipped",
    "listening_off",
    # So do "how much left" and "time left".
    "to_marks",
    "past_target",
    "over_target",
    "over_high",
    "time_left_unsure",
    "tray_left_unsure",
    # "Where are we" gives these, and another answer shows that nothing came of a question.
    "ready",
    "batch_resumed",
    "batch_resumed_over",
    "batch_open",
    "not_logged",
    "entry_stays",
    "lapsed",
    # "Time left" says these again.
    "times_unsure",
    "trays_unsure",
    # The batch is opened in the same breath, and its first addition is asked for.
    "recipe_chosen",
    # The question before it said how much, or the cook did; what follows shows that it is in.
    "addition_short",
    # Two steps that were taken back in one breath are both said; "what next" gives the way on from there.
    "rescue_waits",
    # The cook said so, and what follows is a caution or a question.
    "addition_not_in",
    "addition_left_out",
    # A question about what comes in its place says the figure.
    "undone_short",
)
"""Announcements that a turn leaves out where it would be too long, the first of them first (`brevity`).

Never among them: a caution, a question, a ring, and the figure that something was logged or asked for.
"""

SHORTER: Mapping[str, str] = {
    "ask_addition": "ask_addition_short",
    "addition_in": "addition_short",
    "batch_opened": "batch_opened_short",
    "batch_opened_planned": "batch_opened_short",
    "batch_opened_over": "batch_over_short",
    "ask_over_hopper": "ask_over_hopper_short",
    "ask_past_high": "ask_past_high_short",
    "undone_water": "undone_short",
    "undone_flour": "undone_short",
    "undone_scrap": "undone_short",
    "undone_addition": "undone_short",
    "undone_taken_out": "undone_short",
    "undone_correction": "undone_short",
    "timer_over": "timer_over_short",
    "batch_again": "batch_again_short",
    "wet_flour": "wet_flour_short",
    "wet_flour_over_hopper": "wet_over_short",
    "rescue_fits": "rescue_waits",
    "rescue_over_hopper": "rescue_waits",
    "rescue_beyond": "rescue_waits",
    "hopper_over": "hopper_full",
    "lot_likely": "lot_named",
    "lot_takes_more": "lot_named",
    "lot_takes_less": "lot_named",
    "batch_closed": "batch_closed_only",
    "batch_resumed": "batch_open",
    "batch_resumed_over": "batch_open",
    "time_left_two": "time_left",
    "walk_waits": "walk_asks",
    "walk_skipped_safety": "walk_skipped_noted",
    "time_left_unsure": "times_unsure",
    "tray_left_unsure": "trays_unsure",
    "tray_care": "tray_care_short",
    "time_off_known": "clock_set",
}
"""Announcement -> what is said instead where a turn is still too long; asking gives the rest."""
