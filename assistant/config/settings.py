"""What a kitchen sets for itself, read from TOML and checked.

Law: what is not written in the file has its default; what is written and can't be used is an error that says
where, what was found, what is allowed and what to do. Nothing is silently ignored.

A setting that gets another name keeps the old one in its row (`WAS`), one that gets another section is in
`MOVED`, so that older files stay readable.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Self

import msgspec
from msgspec import Struct

from assistant.batch.record.rules import BatchRules
from assistant.config.food_settings import FoodSafetySettings
from assistant.config.group.sync_settings import SyncSettings
from assistant.config.hearing_file import FILE as HEARING_FILE
from assistant.config.hydration_marks import out_of_order
from assistant.config.kitchen_settings import (
    BatchSettings,
    CookingSettings,
    LabelSettings,
    PlanSettings,
    TimerSettings,
)
from assistant.config.resources import ENGLISH, languages
from assistant.config.station_settings import (
    FootSwitchSettings,
    MicrophoneSettings,
    PinSettings,
    PrinterSettings,
    RecogniserSettings,
    ScaleSettings,
    SpeakerSettings,
    StationSettings,
    VoiceSettings,
)
from assistant.config.toml_file import Place, read_toml, take_struct
from assistant.config.toml_words import shown
from assistant.devices.pins import problem
from assistant.devices.printer.addresses import problem as printer_problem
from assistant.devices.printer.addresses import sheets_problem

MOVED = {("batch", "cook"): ("station", "cook"), ("recogniser", "cook"): ("station", "cook")}
"""Section and key that a setting had -> those of today. Of two that became one the first that says something
counts."""


def _in_place(found: Mapping[str, Any]) -> dict[str, Any]:
    """What a file says, each setting where it stands today; what stands there already counts more."""
    today = {name: dict(one) if isinstance(one, Mapping) else one for name, one in found.items()}
    moved: dict[tuple[str, str], Any] = {}
    for (section, key), place in MOVED.items():
        table = today.get(section)
        if isinstance(table, dict) and key in table:
            moved[place] = moved.get(place) or table.pop(key)
            table.pop(key, None)
    for (section, key), value in moved.items():
        table = today.setdefault(section, {})
        if isinstance(table, dict):
            table.setdefault(key, value)
    return today


def moved_in(file: Path) -> list[str]:
    """A line for each setting of a file that stands where it did once. Raises SettingsError."""
    found = read_toml(file, optional=True)
    return [
        f"{file}: [{section}] {key} is [{new}] {name} now, whose voice it is fitted to and who judges the "
        "crumb; it is read, but write it there."
        for (section, key), (new, name) in MOVED.items()
        if isinstance(found.get(section), Mapping) and key in found[section]
    ]


class Settings(Struct, frozen=True):
    """All settings of a station."""

    batch: BatchSettings = BatchSettings()
    food_safety: FoodSafetySettings = FoodSafetySettings()
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
    printer: PrinterSettings = PrinterSettings()
    sync: SyncSettings = SyncSettings()

    @classmethod
    def load(cls, file: Path) -> Self:
        """Read a settings file, and what a hearing test found beside it; defaults where there is none.

        What the file itself says counts more than what was found. Raises SettingsError.
        """
        found = file.parent / HEARING_FILE
        measured = cls.taken(found, read_toml(found, optional=True))
        return cls.taken(file, read_toml(file, optional=True), measured)

    @classmethod
    def taken(cls, file: Path, found: dict[str, Any], base: Self | None = None) -> Self:
        """Settings from what a file says; what it does not say is as in `base`. Raises SettingsError."""
        place = Place(file)
        settings = take_struct(place, _in_place(found), cls, base)
        if settings.recogniser.model:
            model = str(file.parent / Path(settings.recogniser.model).expanduser())
            recogniser = msgspec.structs.replace(settings.recogniser, model=model)
            settings = msgspec.structs.replace(settings, recogniser=recogniser)
        if (wrong := problem(settings.pins.map)) is not None:
            raise place.refuse(f"[pins] {wrong}")
        batch = settings.batch
        if (
            wrong := out_of_order(low_pct=batch.low_pct, target_pct=batch.target_pct, high_pct=batch.high_pct)
        ) is not None:
            raise place.refuse(f"[batch] {wrong}")
        if (wrong := settings.food_safety.wrong) is not None:
            raise place.refuse(f"[food_safety] {wrong}")
        printer = settings.printer
        wrong = printer_problem(printer.kind, printer.address) or sheets_problem(printer.sheets)
        if wrong is not None:
            raise place.refuse(f"[printer] {wrong}")
        language, known = settings.station.language, languages(file.parent / "grammar")
        if language not in known:
            allowed = " or ".join(shown(one) for one in known)
            raise place.refuse(
                f"[station] language = {shown(language)}, allowed is {allowed}; "
                f"change it, or remove the line to get {shown(ENGLISH)}."
            )
        return settings

    @property
    def rules(self) -> BatchRules:
        """The rules of a batch, as the batch takes them."""
        rules = msgspec.structs.asdict(self.batch)
        return BatchRules(**rules, cook=self.station.cook, food=self.food_safety.food_rules)

    @property
    def voice_name(self) -> str:
        """The espeak-ng voice: the one that is named, else that of the language, which has the same name."""
        return self.voice.name or self.station.language

    @property
    def cooking_s(self) -> dict[str, float]:
        """Time in the water by shape (s), the kitchen's own shapes among them."""
        shapes = msgspec.structs.asdict(self.cooking)
        del shapes["own"]
        return {**shapes, **self.cooking.own_s}
