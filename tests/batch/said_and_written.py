"""Whether what a decision says is what it writes: the figures of the replies are those of the journal."""

from collections.abc import Sequence

from assistant.batch.record import events as ev
from assistant.batch.record.announcements import Announcement

_OPENED = (ev.BatchOpened, {"flour": "flour_g", "batch": "batch"})
_LOT = (ev.LotNamed, {"lot": "lot"})
WRITTEN: dict[str, tuple[type[ev.Event], dict[str, str]]] = {
    "batch_opened": _OPENED,
    "batch_again": (ev.BatchOpened, {"flour": "flour_g", "batch": "batch", "lot": "lot"}),
    "batch_opened_planned": (ev.BatchOpened, {"flour": "flour_g"}),
    "batch_opened_over": _OPENED,
    "lot_named": _LOT,
    "lot_likely": _LOT,
    "lot_takes_more": _LOT,
    "lot_takes_less": _LOT,
    "water_in": (ev.WaterAdded, {"grams": "grams"}),
    "water_in_twice": (ev.WaterAdded, {"grams": "grams"}),
    "flour_in": (ev.FlourAdded, {"grams": "grams"}),
    "flour_in_twice": (ev.FlourAdded, {"grams": "grams"}),
    "scrap_in": (ev.ScrapWeighed, {"grams": "grams"}),
    "corrected": (ev.EntryCorrected, {"grams": "grams"}),
    "target_set": (ev.TargetSet, {"target": "target_pct"}),
    "target_set_next": (ev.TargetSet, {"target": "target_pct"}),
    "crumb_ready": (ev.CrumbJudged, {"hydration": "hydration_pct"}),
    "crumb_ready_low": (ev.CrumbJudged, {"hydration": "hydration_pct"}),
    "die_named": (ev.DieNamed, {"die": "die"}),
    "tray_filled": (ev.TrayFilled, {"tray": "tray"}),
    "tray_care": (ev.TrayFilled, {"tray": "tray"}),
    "portions_counted": (ev.PortionsCounted, {"count": "count"}),
    "mixing_for": (ev.MixStarted, {"seconds": "seconds"}),
    "resting_for": (ev.RestStarted, {"seconds": "seconds"}),
    "timer_set": (ev.TimerSet, {"timer": "name", "seconds": "seconds"}),
    "batch_closed": (ev.BatchClosed, {}),
    "batch_closed_dry": (ev.BatchClosed, {}),
    "batch_dropped": (ev.BatchDropped, {}),
}
"""Announcement -> the event that it tells of, with the fields that its values are."""


WEIGHED = (ev.WaterAdded, ev.FlourAdded, ev.ScrapWeighed, ev.EntryCorrected)
"""Events whose mass (g) is always said."""


def check_written(announcements: Sequence[Announcement], events: Sequence[ev.Event]) -> None:
    """Hold what one decision says was logged to its events, and every mass that it writes to what it says."""
    for event in events:
        if isinstance(event, WEIGHED):
            assert any(event.grams in said.values.values() for said in announcements), event
    for said in announcements:
        if said.key not in WRITTEN:
            continue
        kind, fields = WRITTEN[said.key]
        assert any(
            isinstance(event, kind)
            and all(said.values[name] == getattr(event, field) for name, field in fields.items())
            for event in events
        ), said
