"""Settings of food safety: whose rules the kitchen keeps. One authority says all, and nothing is mixed."""

from typing import Annotated

from msgspec import Meta, Struct

from assistant.batch.record.clocks.food_rules import (
    CLEAN_WITHIN_S,
    COLD_WITHIN_S,
    HELD_AT_C,
    Authority,
    FoodRules,
    Room,
)
from assistant.config.toml_words import ALLOWED, number

_HOUR_S = 3600.0
_RULES = FoodRules()
OWN_ONLY: dict[Authority, tuple[str, ...]] = {
    "us": ("own_celsius", "own_cold_hours", "own_clean_hours", "own_source"),
    "italy": ("own_celsius", "room"),
    "own": ("room",),
}
"""Settings that count for nothing under an authority, which says otherwise or nothing of it."""


class FoodSafetySettings(Struct, frozen=True):
    """How cold and how soon a dough has to be, and how soon the machine clean. The local code comes first."""

    rules: Annotated[
        Authority,
        Meta(
            description="whose rules: us, the US Food Code: 5 °C in 4 hours of the first water; italy, "
            "DPR 187/2001: 4 °C for loose fresh pasta, the hours your own; own, all your own"
        ),
    ] = _RULES.authority
    own_celsius: Annotated[float, number("cold holding, where the rules are your own", -2, 8, "°C")] = (
        _RULES.celsius
    )
    own_cold_hours: Annotated[
        float,
        number("from the first water to that, where the rules are your own or italy", 0.5, 24, "hours"),
    ] = COLD_WITHIN_S / _HOUR_S
    own_clean_hours: Annotated[
        float,
        number("from the first water to clean down, where the rules are your own or italy", 0.5, 24, "hours"),
    ] = CLEAN_WITHIN_S["kitchen"] / _HOUR_S
    own_source: Annotated[
        str,
        Meta(
            pattern=r"^[^\n\r\t{}|]{0,60}\Z",
            description="who says so, as sheets print it: our HACCP plan of May",
            extra={ALLOWED: "up to 60 characters on one line, without braces and bars"},
        ),
    ] = ""
    room: Annotated[
        Room,
        Meta(
            description="the most that the room of the machine ever gets to, under us: in a cold room clean "
            "down is due after 10, 16, 20 or 24 hours instead of 4"
        ),
    ] = "kitchen"
    clean_warn_s: Annotated[
        float, number("how long before it is due clean down is called; 0: not at all", 0, 10_800, "s")
    ] = _RULES.clean_warn_s

    @property
    def wrong(self) -> str | None:
        """What is set and would count for nothing, and what to do about it; None where all of it counts."""
        usual = FoodSafetySettings()
        idle = [name for name in OWN_ONLY[self.rules] if getattr(self, name) != getattr(usual, name)]
        if not idle:
            return None
        named = " and ".join(idle)
        if self.rules == "own" or idle == ["room"]:
            return f'{named} counts only with rules = "us"; remove it, and write own_clean_hours instead.'
        return f'{named} counts for nothing with rules = "{self.rules}"; remove it, or write rules = "own".'

    @property
    def food_rules(self) -> FoodRules:
        """The rules as a batch takes them."""
        own = self.rules != "us"
        return FoodRules(
            authority=self.rules,
            celsius=HELD_AT_C.get(self.rules, float(self.own_celsius)),
            cold_s=self.own_cold_hours * _HOUR_S if own else COLD_WITHIN_S,
            clean_s=self.own_clean_hours * _HOUR_S if own else CLEAN_WITHIN_S[self.room],
            clean_warn_s=self.clean_warn_s,
            source=self.own_source,
        )
