"""Settings of the work: the batch, cooking times, timers, labels, the plan of a shift."""

from typing import Annotated

from msgspec import Meta, Struct

from assistant.batch.record.rules import BatchRules
from assistant.config.language.own_words import plain
from assistant.config.toml_words import ALLOWED, number, one_of, truth, within
from assistant.dough.ranges import EXTRUDE_G_PER_MIN, HOPPER_G, LOSS_PCT, PORTION_G, TARGET_PCT, VOLUME_C
from assistant.dough.yields import USUAL_LOSS_PCT

_RULES = BatchRules()


def _hydration(what: str) -> Meta:
    return within(TARGET_PCT, what)


_OWN_SHAPE = r"[^\W\d_]+( [^\W\d_]+){0,2} (3[0-9]|[4-9][0-9]|[1-9][0-9]{2}|[12][0-9]{3}|3[0-5][0-9]{2}|3600)"


def _cooking(shape: str) -> Meta:
    return number(f"time of {shape} in the water", 30, 3600, "s")


class BatchSettings(Struct, frozen=True):
    """The rules of a batch: the fields of `BatchRules`, with its defaults. The kitchen's own figures win."""

    target_pct: Annotated[float, _hydration("hydration aimed at: water per 100 of flour")] = _RULES.target_pct
    low_pct: Annotated[float, _hydration("least hydration that extrudes well")] = _RULES.low_pct
    high_pct: Annotated[float, _hydration("most hydration; past it the station asks first")] = _RULES.high_pct
    hopper_g: Annotated[float, within(HOPPER_G, "flour and water that the hopper holds")] = _RULES.hopper_g
    first_pour_share: Annotated[float, number("share of the target's water poured first", 0.3, 1)] = (
        _RULES.first_pour_share
    )
    first_mix_s: Annotated[float, number("mix after the first pour", 5, 3600, "s")] = _RULES.first_mix_s
    target_mix_s: Annotated[float, number("mix once the target is reached", 5, 3600, "s")] = (
        _RULES.target_mix_s
    )
    top_up_mix_s: Annotated[float, number("mix after a top-up", 5, 3600, "s")] = _RULES.top_up_mix_s
    rest_s: Annotated[float, number("rest of a crumb that is ready", 5, 7200, "s")] = _RULES.rest_s
    step_pct: Annotated[float, number("most water of one top-up, of the flour", 0.1, 5, "%")] = (
        _RULES.step_pct
    )
    question_s: Annotated[float, number("how long a question waits; silence means no", 3, 60, "s")] = (
        _RULES.question_s
    )
    warn_s: Annotated[float, number("how long before its end a mix is announced", 0, 600, "s")] = (
        _RULES.warn_s
    )
    ring_every_s: Annotated[float, number("pause between two calls of a ringing timer", 5, 300, "s")] = (
        _RULES.ring_every_s
    )
    water_temperature_c: Annotated[
        float, within(VOLUME_C, "turns said litres and millilitres of water into grams", "°C")
    ] = _RULES.water_temperature_c
    portion_g: Annotated[float, within(PORTION_G, "raw pasta of a portion, where its recipe names none")] = (
        _RULES.portion_g
    )
    cook_s: Annotated[float, number("time in the water of a shape that [cooking] lacks", 30, 3600, "s")] = (
        _RULES.cook_s
    )
    rest_calls_s: Annotated[
        float,
        number(
            "a rest of this length or more is called at half-time and in its last minute; 0: none is",
            0,
            7200,
            "s",
        ),
    ] = _RULES.rest_calls_s
    prep_calls: Annotated[
        bool, truth("say to the prep team that such a rest begins, and when it is over")
    ] = _RULES.prep_calls
    tray_warn_s: Annotated[
        float, number("how long before its time is up a tray is called; 0: not at all", 0, 10_800, "s")
    ] = _RULES.tray_warn_s
    ready_call_s: Annotated[
        float, number("a crumb that is ready this long is mentioned once; 0: it is not", 0, 7200, "s")
    ] = _RULES.ready_call_s


class CookingSettings(Struct, frozen=True):
    """How long each shape cooks. Fresh extruded 5 to 7 minutes (common practice, no source)."""

    bucatini: Annotated[float, _cooking("bucatini")] = _RULES.cook_s
    fettuccine: Annotated[float, _cooking("fettuccine")] = _RULES.cook_s
    fusilli: Annotated[float, _cooking("fusilli")] = _RULES.cook_s
    lasagne: Annotated[float, _cooking("lasagne")] = _RULES.cook_s
    linguine: Annotated[float, _cooking("linguine")] = _RULES.cook_s
    macaroni: Annotated[float, _cooking("macaroni")] = _RULES.cook_s
    penne: Annotated[float, _cooking("penne")] = _RULES.cook_s
    rigatoni: Annotated[float, _cooking("rigatoni")] = _RULES.cook_s
    shells: Annotated[float, _cooking("shells")] = _RULES.cook_s
    spaghetti: Annotated[float, _cooking("spaghetti")] = _RULES.cook_s
    tagliatelle: Annotated[float, _cooking("tagliatelle")] = _RULES.cook_s
    own: Annotated[
        str,
        Meta(
            pattern=rf"^({_OWN_SHAPE}(, ?{_OWN_SHAPE}){{0,23}})?\Z",
            description="the kitchen's own shapes, each with its time (s): strozzapreti 330, angel hair 120; "
            "they can be said like the others",
            extra={ALLOWED: "up to 24 shapes, each its name and 30 to 3600, commas between"},
        ),
    ] = ""

    @property
    def own_s(self) -> dict[str, float]:
        """Time of each of the kitchen's own shapes (s)."""
        written = (one.rpartition(" ") for one in self.own.split(",") if one.strip())
        return {plain(shape): float(seconds) for shape, _, seconds in written}


class TimerSettings(Struct, frozen=True):
    """Timers beside those that the grammar names."""

    names: Annotated[
        str,
        Meta(
            pattern=r"^([a-z]+( [a-z]+)?(, ?[a-z]+( [a-z]+)?){0,11})?\Z",
            description="the kitchen's own, as they are said: ragu, beef stock",
            extra={ALLOWED: "up to 12 names of one or two words in small letters, commas between"},
        ),
    ] = ""

    @property
    def own(self) -> tuple[str, ...]:
        """The names one by one."""
        return tuple(name.strip() for name in self.names.split(",") if name.strip())


class LabelSettings(Struct, frozen=True):
    """What is printed on a label."""

    use_by_days: Annotated[
        int, number("days that fresh pasta is kept, the day it was made is the first", 1, 7, "days")
    ] = 7
    allergen_list: Annotated[
        str,
        one_of(
            ("both", "eu", "us"),
            "the list of allergens that is printed: eu is that of EU and UK, Regulation (EU) 1169/2011; us "
            "that of FALCPA and the FASTER Act; both prints the two, each under its own head",
        ),
    ] = "both"
    flour: Annotated[
        str,
        Meta(
            min_length=1,
            max_length=40,
            description="flour of a batch whose recipe and lot name none, for its allergens",
            extra={ALLOWED: "a name of 1 to 40 letters"},
        ),
    ] = "semolina"
    maker: Annotated[
        str,
        Meta(
            pattern=r"^([^\x00-\x1f\x7f]{1,120})?\Z",
            description="who made it and where, the last line of each label: Hotel Example, 1 Mill Lane, "
            'Sampletown; "" for none',
            extra={ALLOWED: "one line of at most 120 letters, or nothing"},
        ),
    ] = ""


class PlanSettings(Struct, frozen=True):
    """What a shift is planned with. All common practice, no source: the kitchen's own, measured, win."""

    loss_pct: Annotated[float, within(LOSS_PCT, "scrap and purge, of the dough")] = USUAL_LOSS_PCT
    extrude_g_per_min: Annotated[
        float,
        within(EXTRUDE_G_PER_MIN, "dough through a die of which too little is known", "g a minute"),
    ] = 100
    changeover_s: Annotated[float, number("time from one die or dough to the next", 0, 7200, "s")] = 600
