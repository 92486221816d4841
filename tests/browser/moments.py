"""Moments of a shift that the page is looked at in: what was said until then, and what must be read."""

from dataclasses import dataclass

OPENED = ("lot four seven one", "new batch fifteen hundred")
MIXED = (*OPENED, "water three thirty", "mix", "+121", "got it")
AT_TARGET = (*MIXED, "crumb dry", "water one thirty five", "mix", "+61", "got it")
EXTRUDING = (*AT_TARGET, "crumb ready", "new die rigatoni", "extruding")


NAMES = ("one", "two", "three", "four", "five", "six", "seven")


@dataclass(frozen=True)
class Moment:
    """What was said, and what stands where."""

    said: tuple[str, ...]
    number: str
    unit: str = ""
    then: str = ""
    lead: str = ""
    question: tuple[str, ...] = ()
    """Parts of the open question and its answers."""
    is_text: bool = False
    """Whether it is a sentence that is largest; `number` is how it begins."""
    clocks: tuple[str, ...] = ()


MOMENTS: dict[str, Moment] = {
    "nothing open": Moment((), "idle", then="say new batch"),
    # 72 % of 465 g, the target's water of 1,500 g at 31 %, to the next 5 g below: the rule of the first pour.
    "pouring": Moment(OPENED, "330", "g to pour", "then mix 2:00"),
    "first pour in": Moment((*OPENED, "water three thirty"), "2:00", "to mix", "say mix"),
    "mixing": Moment((*OPENED, "water three thirty", "mix", "+20"), "1:40", "to mix", "then switch off"),
    "resting": Moment((*MIXED, "rest", "+30"), "1:00", "to rest", "then switch off"),
    "mix rings": Moment(
        (*OPENED, "water three thirty", "mix", "+121"), "squeeze", then="say got it", lead="switch off first"
    ),
    "squeezing": Moment(AT_TARGET, "squeeze", then="dry, ready, wet?", lead="switch off first"),
    "near the target": Moment((*MIXED, "crumb dry"), "135", "g to pour", "then mix 2:00"),
    "ready": Moment((*AT_TARGET, "crumb ready"), "extrude", then="say extruding"),
    # 1,500 g of flour and 465 g of water, in portions of 120 g.
    "extruding": Moment(EXTRUDING, "1965", "g of dough, 16 portions", "discard the first"),
    # 33 % of 1,500 g is 495 g.
    "over high": Moment((*OPENED, "water five hundred", "yes"), "5", "g over high", "add 16 g flour"),
    "yes or no": Moment(
        (*OPENED, "water six hundred"), "330", question=("one oh five over high. Log it?", "yes", "no")
    ),
    "a value is wanted": Moment(
        (*OPENED, "water"), "330", question=("How much water?", "say an amount: two kilos")
    ),
    "a timer rings": Moment(
        ("timer two one minute", "+65"), "timer 2", "is up", "say got it", clocks=("timer 2rings",)
    ),
    "egg is asked for": Moment(("recipe egg", *OPENED), "", question=("egg, in?", "yes", "no")),
    # Silence is no: the question has lapsed, and "yes" alone would mean nothing.
    "egg is not in yet": Moment(("recipe egg", *OPENED, "+15"), "300", "g of whole egg", "say whole egg in"),
    "a walk-through": Moment(
        ("die change",), "Back to mixing, then off and unplugged", then="say done", is_text=True
    ),
    "a tray rings": Moment(
        (*EXTRUDING, "tray done", "full", "close batch", "+15000"), "Tray one is over four", is_text=True
    ),
    "nine clocks": Moment(
        (
            *OPENED,
            "water three thirty",
            *(f"timer {name} twenty minutes" for name in NAMES),
            "mix",
        ),
        "2:00",
        "to mix",
        clocks=("timer 120:00",),
    ),
}  # fmt: skip
