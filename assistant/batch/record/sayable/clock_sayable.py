"""What may be said of the clock: key -> names of the values that its wording may use; see `announcements`."""

CLOCK_SAYABLE: dict[str, str] = {
    "tray_may_be_over": "tray batch limit",
    "trays_may_be_over": "count batch limit",
    "time_off_known": "seconds",
    "clock_set": "",
    "ask_clock": "side hour minute",
    "clock_told": "side hour minute",
}
