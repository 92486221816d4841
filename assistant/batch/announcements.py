"""What may be said: a key, its values and its tone. The wording lives in `grammar/<language>/replies.toml`.

`SAYABLE` is the full list: key -> names of the values that its wording may use. Values are plain numbers
(g, percent, s), counts or names; the wording says how each is spoken.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Tone = Literal["taken", "question", "ring", "ring_firm"]
Value = float | int | str


@dataclass(frozen=True, slots=True)
class Announcement:
    """One short sentence to say. `tone`: sound that goes before it, or None."""

    key: str
    values: Mapping[str, Value] = field(default_factory=dict)
    tone: Tone | None = None


def say(key: str, tone: Tone | None = None, **values: Value) -> Announcement:
    """An announcement of this key; KeyError where the key or its values are not those of `SAYABLE`."""
    if frozenset(values) != SAYABLE[key]:
        raise KeyError(f"{key} wants {sorted(SAYABLE[key])}, got {sorted(values)}")
    return Announcement(key, values, tone)


def _sayable(**keys: str) -> dict[str, frozenset[str]]:
    return {key: frozenset(names.split()) for key, names in keys.items()}


SAYABLE: dict[str, frozenset[str]] = _sayable(
    # a batch
    batch_opened="batch flour water target",
    first_pour="grams",
    hopper_over="product hopper flour",
    flour_too_little="grams least",
    flour_too_much="grams hopper",
    batch_already_open="batch",
    no_batch="",
    batch_closed="batch flour water hydration",
    batch_closed_dry="batch flour",
    batch_dropped="batch",
    batch_resumed="batch water left",
    batch_resumed_over="batch water over",
    target_set="target water",
    target_set_next="target",
    target_impossible="target least most",
    lot_named="lot",
    lot_likely="hydration batches",
    lot_unknown="",
    lot_takes_more="points",
    lot_takes_less="points",
    lot_first_pour="grams",
    lot_first_pour_pct="hydration",
    recipe_chosen="recipe target",
    recipe_unknown="recipe",
    addition="grams ingredient",
    condition_told="what value",
    condition_impossible="value least most",
    # the account
    water_in="grams",
    water_in_twice="grams",
    flour_in="grams",
    flour_in_twice="grams",
    scrap_in="grams",
    corrected="grams was",
    amount_zero="",
    amount_too_much="grams hopper",
    nothing_left_to_pour="",
    left="grams",
    on_target="",
    over_target="grams to_high",
    at_high="",
    over_high="grams",
    rescue_fits="flour",
    rescue_over_hopper="flour over",
    mix_then_squeeze="",
    # taking back
    undone_water="grams",
    undone_flour="grams",
    undone_scrap="grams",
    undone_correction="grams",
    undone_opening="",
    undone_closing="batch",
    undone_timer="timer",
    undone_crumb="",
    undone_other="what",
    nothing_to_undo="",
    # the crumb
    squeeze_now="",
    pour_on="grams",
    top_up="grams seconds",
    dry_at_high="high",
    crumb_ready="hydration",
    crumb_ready_low="hydration low",
    wet_wait="",
    wet_flour="flour",
    wet_flour_over_hopper="flour over",
    # time
    mixing_for="seconds",
    resting_for="seconds",
    timer_set="timer seconds",
    timer_extended="timer seconds",
    timer_stopped="timer",
    timer_none="",
    timer_which="",
    timer_unknown="timer",
    time_too_long="most",
    time_left="timer seconds",
    time_left_unsure="timer seconds",
    mix_warning="seconds",
    mix_rings="",
    rest_rings="",
    rest_half="seconds",
    rest_warning="seconds",
    prep_rest="seconds",
    prep_rest_over="",
    late="seconds",
    timer_rings="timer",
    got_it="",
    nothing_rings="",
    # the machine
    mixer_off="",
    extruding="hydration",
    extruding_early="",
    extruding_dry="",
    die_named="die",
    tray_filled="tray",
    tray_care="",
    tray_cold="tray seconds",
    tray_cold_late="tray",
    tray_unknown="",
    tray_warning="tray batch seconds",
    tray_rings="tray batch",
    tray_left="tray batch seconds",
    trays_unsure="",
    trim_first="",
    die_warm="",
    dough_left="grams portions",
    cutter_speed="speed",
    cutter_length="length speed",
    cutter_no_speed="",
    cutter_no_length="",
    cutter_wanted="speed length",
    cooking_for="die seconds",
    taste_one="die",
    cook_rings="die",
    portions_counted="count total",
    # asking
    account="water flour",
    hydration="hydration target",
    to_marks="to_target to_high",
    past_target="over to_high",
    where="batch flour water hydration",
    next_open="",
    next_planned="die flour start",
    plan_over="",
    planned_die="die",
    next_pour="grams",
    next_first_pour="grams",
    next_mix="seconds",
    next_squeeze="",
    next_wait_mix="seconds",
    next_wait_rest="seconds",
    next_extrude="",
    next_close="",
    next_trim="",
    next_tray="tray",
    next_got_it="timer",
    help_idle="",
    help_pouring="",
    help_waiting="",
    help_squeeze="",
    help_ready="",
    help_extruding="",
    help_question="",
    help_walk="",
    say_again="",
    # walk-throughs
    walk_begun="walk steps",
    walk_step="step",
    walk_caution="caution",
    walk_safety="",
    walk_skipped="step",
    walk_skipped_safety="step",
    walk_at_first="",
    walk_left="walk",
    walk_resumed="walk number",
    walk_over="walk",
    walk_over_skipped="walk skipped",
    walk_unknown="walk",
    # questions
    ask_twin="grams",
    ask_past_high="grams over",
    ask_unsure="said",
    ask_unsure_amount="grams",
    ask_time_running="timer seconds",
    ask_target="target low high",
    ask_far_from_lot="hydration lot likely",
    not_logged="",
    lapsed="",
    yes_or_no="",
    # the jug scale
    jug_agrees="grams",
    jug_had_it="grams",
    ask_jug_differs="grams was",
    ask_voice_differs="grams was",
    entry_stays="",
    no_scale="",
    on_scale="grams",
    jug_off="",
    jug_zeroed="",
    jug_not_off="",
    jug_unsteady="",
    jug_dripped="grams",
    jug_not_alone="",
    scale_overloaded="",
    scale_drifted="grams",
    scale_lost="",
    scale_works="",
    # misses
    number_missing="command",
    unit_unfit="command",
    # voice
    louder="",
    softer="",
    faster="",
    slower="",
    voice_at_end="",
    listening_off="",
    listening_on="",
    # the station
    ready="",
    cannot_hear="",
    hearing_again="",
    too_loud="",
    clipped="",
    cannot_write="",
    journal_moved="",
    worker_died="worker",
    switch_stuck="",
    switch_lost="",
    switch_works="",
)
