"""What a kitchen sets for itself, read from TOML and checked.

Law: what is not written in the file has its default; what is written and can't be used is an error that says
where, what was found, what is allowed and what to do. Nothing is silently ignored.
"""

from pathlib import Path
from typing import Annotated, Any, Literal, Self

import msgspec
from msgspec import Meta, Struct

from assistant.batch.record.rules import BatchRules
from assistant.config.resources import ENGLISH, languages
from assistant.config.shift_settings import CookingSettings, LabelSettings, PlanSettings, TimerSettings
from assistant.config.shift_settings import number as _number
from assistant.config.toml_file import allowed, hint, meta_of, read, read_section, shown
from assistant.devices.pins import PinMap, problem
from assistant.errors import SettingsError

HEARING_FILE = "hearing.toml"
"""What a hearing test found, beside the settings file."""
_RULES = BatchRules()


class BatchSettings(Struct, frozen=True):
    """The house rules of a batch: the fields of `BatchRules`. Common practice, no source; the kitchen's win."""

    target_pct: Annotated[float, _number("hydration aimed at: water per 100 of flour", 15, 60, "%")] = (
        _RULES.target_pct
    )
    low_pct: Annotated[float, _number("least hydration that extrudes well", 15, 60, "%")] = _RULES.low_pct
    high_pct: Annotated[float, _number("most hydration; past it the station asks first", 15, 60, "%")] = (
        _RULES.high_pct
    )
    hopper_g: Annotated[float, _number("flour and water that the hopper holds", 100, 50_000, "g")] = (
        _RULES.hopper_g
    )
    first_pour_share: Annotated[float, _number("share of the target's water poured first", 0.3, 1)] = (
        _RULES.first_pour_share
    )
    first_mix_s: Annotated[float, _number("mix after the first pour", 5, 3600, "s")] = _RULES.first_mix_s
    target_mix_s: Annotated[float, _number("mix once the target is reached", 5, 3600, "s")] = (
        _RULES.target_mix_s
    )
    top_up_mix_s: Annotated[float, _number("mix after a top-up", 5, 3600, "s")] = _RULES.top_up_mix_s
    rest_s: Annotated[float, _number("rest of a crumb that is ready", 5, 7200, "s")] = _RULES.rest_s
    step_pct: Annotated[float, _number("most water of one top-up, of the flour", 0.1, 5, "%")] = (
        _RULES.step_pct
    )
    question_s: Annotated[float, _number("how long a question waits; silence means no", 3, 60, "s")] = (
        _RULES.question_s
    )
    warn_s: Annotated[float, _number("how long before its end a mix is announced", 0, 600, "s")] = (
        _RULES.warn_s
    )
    ring_every_s: Annotated[float, _number("pause between two calls of a ringing timer", 5, 300, "s")] = (
        _RULES.ring_every_s
    )
    water_temperature_c: Annotated[
        float, _number("turns said litres and millilitres of water into grams", 0, 60, "°C")
    ] = _RULES.water_temperature_c
    portion_g: Annotated[
        float, _number("raw pasta of a portion, where its recipe names none", 10, 1000, "g")
    ] = _RULES.portion_g
    cook_s: Annotated[float, _number("time in the water of a shape that [cooking] lacks", 30, 3600, "s")] = (
        _RULES.cook_s
    )
    rest_calls_s: Annotated[
        float,
        _number(
            "a rest from so long on is called at half-time and in its last minute; 0: none", 0, 7200, "s"
        ),
    ] = _RULES.rest_calls_s
    prep_calls: Annotated[
        bool, Meta(description="tell the prep team of such a rest, and when it is over")
    ] = _RULES.prep_calls
    tray_warn_s: Annotated[
        float, _number("a tray is called so long before its four hours are up; 0: not", 0, 10_800, "s")
    ] = _RULES.tray_warn_s


class VoiceSettings(Struct, frozen=True):
    """What the station's voice is like."""

    on: Annotated[bool, Meta(description="speak replies; off: they are only printed and shown")] = True
    volume: Annotated[float, _number("loudness at the start", 0, 1)] = 1.0
    noise_lift_db: Annotated[
        float, _number("how much louder it may become by itself when the room is loud", 0, 12, "dB")
    ] = 6.0
    rate: Annotated[int, _number("pace of speech", 80, 300, "words a minute")] = 160
    name: Annotated[str, Meta(description='name of an espeak-ng voice; "" for that of the language')] = ""
    half_duplex: Annotated[
        bool,
        Meta(description="hear nothing while speaking; off only with a headset, which can't hear the voice"),
    ] = True
    tail_s: Annotated[float, _number("how long it stays deaf after its last word", 0, 2, "s")] = 0.2


class MicrophoneSettings(Struct, frozen=True):
    """Which microphone, and when a sentence is over."""

    device: Annotated[str, Meta(description='part of its name; "" for the default')] = ""
    end_silence_s: Annotated[float, _number("silence that ends any sentence", 0.2, 2, "s")] = 0.7
    open_silence_s: Annotated[
        float, _number("silence that ends a command which could go on (one fifty ... five)", 0.1, 2, "s")
    ] = 0.4
    closed_silence_s: Annotated[
        float, _number("silence that ends a command which can not go on (undo)", 0.1, 2, "s")
    ] = 0.2


class RecogniserSettings(Struct, frozen=True):
    """Which ear, and how sure it must be."""

    engine: Annotated[Literal["phoneme", "vosk"], Meta(description="recogniser")] = "phoneme"
    model: Annotated[
        str,
        Meta(description='its model, absolute or beside the settings file; "" for the one that ships'),
    ] = ""
    ear: Annotated[
        Literal["kitchen", "packaged"],
        Meta(description="weights of the phoneme network: taught beside a motor, or as the library has them"),
    ] = "kitchen"
    max_cost: Annotated[
        float,
        _number("worst fit that may be acted on; lower hears less; the packaged ear wants 1.4", 0.1, 20),
    ] = 0.6
    min_margin: Annotated[
        float,
        _number(
            "lead over the next meaning; below it the station asks first; the packaged ear wants 3", 0, 50
        ),
    ] = 4.0
    attention_word: Annotated[
        str,
        Meta(
            pattern=r"^[a-z]{0,30}\Z",
            description='a word that must come before each command, as "crumbcall"; "" for none',
            extra={"allowed": "one word of small letters a to z, or none"},
        ),
    ] = ""


class SpeakerSettings(Struct, frozen=True):
    """Which loudspeaker."""

    device: Annotated[str, Meta(description='part of its name; "" for the default')] = ""


class StationSettings(Struct, frozen=True):
    """Which station this is, where a kitchen has several."""

    id: Annotated[
        str,
        Meta(
            pattern=r"^[A-Za-z0-9][A-Za-z0-9 _-]{0,39}\Z",
            description="its name in the journal and on batch sheets",
            extra={"allowed": "1 to 40 letters, digits, spaces, - or _"},
        ),
    ] = "kitchen"
    language: Annotated[
        str,
        Meta(
            description="language of what it says, and of sheets and board; it hears English",
            extra={
                "allowed": '"en", "it", or a language that has a folder in grammar/ beside the settings file'
            },
        ),
    ] = ENGLISH
    closes: Annotated[
        str,
        Meta(
            pattern=r"^(([01][0-9]|2[0-3]):[0-5][0-9])?\Z",
            description='when it stops listening by itself, if no batch is open, as "23:30"; "" for never',
            extra={"allowed": "a time of day from 00:00 to 23:59, or nothing"},
        ),
    ] = ""


class PinSettings(Struct, frozen=True):
    """Which part hangs on which pin: the fields of `PinMap`."""

    lamp: Annotated[int, _number("lamp that shows whether it hears you; 0: none", 0, 27, "(GPIO)")] = 0
    buzzer: Annotated[int, _number("buzzer that calls with the timers; 0: none", 0, 27, "(GPIO)")] = 0
    foot_switch: Annotated[
        int, _number("foot switch; with it the station listens only when asked; 0: none", 0, 27, "(GPIO)")
    ] = 0

    @property
    def map(self) -> PinMap:
        """The map, as the devices take it."""
        return PinMap(**msgspec.structs.asdict(self))


class FootSwitchSettings(Struct, frozen=True):
    """How a foot switch is used; where one hangs on a pin, that stands in `[pins]`."""

    device: Annotated[str, Meta(description='part of the name of a USB pedal; "" for none')] = ""
    listen_s: Annotated[float, _number("how long it listens after the foot came up", 2, 60, "s")] = 8.0


class ScaleSettings(Struct, frozen=True):
    """Which jug scale."""

    chip: Annotated[
        Literal["none", "nau7802", "hx711"], Meta(description="converter behind the jug's load cell")
    ] = "none"
    rate: Annotated[
        Literal[10, 80], Meta(description="samples a second; of an hx711 as its pin RATE is wired")
    ] = 80


class Settings(Struct, frozen=True):
    """All settings of a station."""

    batch: BatchSettings = BatchSettings()
    cooking: CookingSettings = CookingSettings()
    timers: TimerSettings = TimerSettings()
    label: LabelSettings = LabelSettings()
    plan: PlanSettings = PlanSettings()
    voice: VoiceSettings = VoiceSettings()
    microphone: MicrophoneSettings = MicrophoneSettings()
    recogniser: RecogniserSettings = RecogniserSettings()
    speaker: SpeakerSettings = SpeakerSettings()
    station: StationSettings = StationSettings()
    pins: PinSettings = PinSettings()
    foot_switch: FootSwitchSettings = FootSwitchSettings()
    scale: ScaleSettings = ScaleSettings()

    @classmethod
    def load(cls, file: Path) -> Self:
        """Read a settings file, and what a hearing test found beside it; defaults where there is none.

        What the file itself says counts more than what was found. Raises SettingsError.
        """
        found, measured = read(file), read(file.parent / HEARING_FILE)
        cls._checked(file.parent / HEARING_FILE, measured)
        for name, values in measured.items():
            own = found.setdefault(name, {})
            if isinstance(own, dict):
                found[name] = values | own
        return cls._checked(file, found)

    @classmethod
    def _checked(cls, file: Path, found: dict[str, Any]) -> Self:
        known = {section.name: section.type for section in msgspec.structs.fields(cls)}
        sections: dict[str, Any] = {}
        for name, values in found.items():
            if name not in known:
                raise SettingsError(f"{file}: {_unknown_section(name, list(known))}")
            if not isinstance(values, dict):
                raise SettingsError(
                    f"{file}: {name} = {shown(values)} is no section; write [{name}] on a line of its own, settings below."
                )
            sections[name] = read_section(file, name, known[name], values)
        settings = cls(**sections)
        model = settings.recogniser.model
        if model:
            beside = str(file.parent / Path(model).expanduser())
            settings = msgspec.structs.replace(
                settings, recogniser=msgspec.structs.replace(settings.recogniser, model=beside)
            )
        if (wrong := problem(settings.pins.map)) is not None:
            raise SettingsError(f"{file}: [pins] {wrong}")
        _check_language(file, settings.station.language)
        batch = settings.batch
        if not batch.low_pct <= batch.target_pct <= batch.high_pct:
            raise SettingsError(
                f"{file}: [batch] low_pct = {batch.low_pct:g}, target_pct = {batch.target_pct:g}, high_pct = "
                f"{batch.high_pct:g}: low must not be above target, nor target above high; change one of them."
            )
        return settings

    @property
    def rules(self) -> BatchRules:
        """The house rules, as the batch takes them."""
        return BatchRules(**msgspec.structs.asdict(self.batch))

    @property
    def voice_name(self) -> str:
        """The espeak-ng voice: the one that is named, else that of the language, which has the same name."""
        return self.voice.name or self.station.language

    @property
    def cooking_s(self) -> dict[str, float]:
        """Time in the water by shape (s)."""
        return dict(msgspec.structs.asdict(self.cooking))


def write_hearing(settings_file: Path, max_cost: float, min_margin: float, remark: str) -> Path:
    """Keep what a hearing test found, where `load` of that settings file reads it; gives the file's path.

    Raises SettingsError where it can't be written.
    """
    file = settings_file.parent / HEARING_FILE
    text = f"# Found by crumbcall hearing-test. What settings.toml says counts more.\n# {remark}\n"
    text += f"[recogniser]\nmax_cost = {max_cost:g}\nmin_margin = {min_margin:g}\n"
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
    except OSError as error:
        raise SettingsError(
            f"{file} can't be written ({error.strerror}); make room or choose another --home."
        ) from None
    return file


def settings_table() -> str:
    """Every setting with its default and what is allowed, as a table in Markdown."""
    rows = [
        f"| `[{section.name}] {field.name}` | {shown(field.default)} | {allowed(field.type)} "
        f"| {meta_of(field.type).description} |"
        for section in msgspec.structs.fields(Settings)
        for field in msgspec.structs.fields(section.type)
    ]
    return "\n".join(["| setting | default | allowed | what |", "|---|---|---|---|", *rows]) + "\n"


def _check_language(file: Path, language: str) -> None:
    if language not in (known := languages(file.parent / "grammar")):
        raise SettingsError(
            f"{file}: [station] language = {shown(language)}, allowed is "
            f"{' or '.join(shown(one) for one in known)}; change it, or remove the line to get {shown(ENGLISH)}."
        )


def _unknown_section(name: str, known: list[str]) -> str:
    """What to do about a name at the top of the file that is no section."""
    for section in msgspec.structs.fields(Settings):
        if name in {field.name for field in msgspec.structs.fields(section.type)}:
            return f"{name} stands in no section; write [{section.name}] on a line of its own above it."
    return f"there is no section {shown(name)}; {hint(name, known)}"
