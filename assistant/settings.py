"""Where a kitchen's files lie, and its settings: TOML, validated, every mistake one clear line.

`SECTIONS` is the list of all settings with their bounds and what they do; the table in DEVELOPERS.md is made
from it.
"""

import json
import os
import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any, Self, get_type_hints

import msgspec
from msgspec import Meta

from assistant.batch.rules import BatchRules
from assistant.errors import SettingsError
from assistant.resources import grammar_folder

Percent = Annotated[float, Meta(ge=10, le=80)]
Seconds = Annotated[float, Meta(ge=1, le=7200)]


class _Section(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A section of the settings file."""


class BatchSettings(_Section, frozen=True):
    """The house rules of a batch; all defaults are common practice, no source."""

    target_pct: Annotated[Percent, Meta(description="hydration to aim at: water in % of the flour")] = 31.0
    low_pct: Annotated[Percent, Meta(description="lowest hydration of a good crumb")] = 30.0
    high_pct: Annotated[Percent, Meta(description="hydration that is passed only with a yes")] = 33.0
    hopper_g: Annotated[float, Meta(ge=200, le=100_000, description="product that the hopper holds, g")] = (
        3000.0
    )
    first_pour_share: Annotated[
        float,
        Meta(ge=0.3, le=1.0, description="share of the target's water before the first look at the crumb"),
    ] = 0.72
    first_mix_s: Annotated[Seconds, Meta(description="mixing after the first pour, s")] = 120.0
    target_mix_s: Annotated[Seconds, Meta(description="mixing once the target is in, s")] = 60.0
    top_up_mix_s: Annotated[Seconds, Meta(description="mixing after a top-up, s")] = 30.0
    rest_s: Annotated[Seconds, Meta(description="rest where no time is said, s")] = 90.0
    step_pct: Annotated[float, Meta(ge=0.1, le=5, description="most water of a top-up, % of the flour")] = 1.0
    question_s: Annotated[
        float, Meta(ge=3, le=60, description="a question waits so long for yes or no, s")
    ] = 10.0
    warn_s: Annotated[Seconds, Meta(description="a crumb check is announced so long before, s")] = 30.0
    ring_every_s: Annotated[float, Meta(ge=3, le=300, description="a ringing timer calls again after, s")] = (
        15.0
    )
    water_temperature_c: Annotated[
        float, Meta(ge=4, le=50, description="water's temperature, for volumes that are said, C")
    ] = 20.0


class VoiceSettings(_Section, frozen=True):
    """How the station speaks."""

    on: Annotated[bool, Meta(description="speak at all")] = True
    volume: Annotated[float, Meta(ge=0, le=4, description="1 is as synthesised")] = 1.0
    rate: Annotated[int, Meta(ge=80, le=300, description="words a minute")] = 160
    name: Annotated[str, Meta(min_length=1, description="espeak-ng's name of the voice")] = "en-gb"
    half_duplex: Annotated[bool, Meta(description="deaf while speaking; off for a headset")] = True
    tail_s: Annotated[float, Meta(ge=0, le=2, description="deaf so long after the last sound, s")] = 0.2


class MicrophoneSettings(_Section, frozen=True):
    """How the station listens."""

    device: Annotated[str, Meta(description="part of the microphone's name; empty: the default")] = ""
    end_silence_s: Annotated[
        float, Meta(ge=0.2, le=2, description="silence after which a command is over, s")
    ] = 0.5


class RecogniserSettings(_Section, frozen=True):
    """What turns sound into a command."""

    engine: Annotated[str, Meta(pattern="^(phoneme|vosk)$", description="phoneme or vosk")] = "phoneme"
    model: Annotated[str, Meta(description="folder of a Vosk model, or phoneme weights; empty: built in")] = (
        ""
    )
    max_cost: Annotated[float, Meta(ge=0.1, le=10, description="above this a command is not accepted")] = 2.0
    min_margin: Annotated[
        float, Meta(ge=0, le=50, description="below this the station asks before it logs")
    ] = 3.0


class SpeakerSettings(_Section, frozen=True):
    """Where the voice comes out."""

    device: Annotated[str, Meta(description="part of the speaker's name; empty: the default")] = ""


class StationSettings(_Section, frozen=True):
    """Who this station is."""

    id: Annotated[
        str, Meta(pattern="^[A-Za-z0-9_-]{1,40}$", description="name of this station in the journal")
    ] = "kitchen"


class Settings(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """All settings of a kitchen."""

    batch: BatchSettings = BatchSettings()
    voice: VoiceSettings = VoiceSettings()
    microphone: MicrophoneSettings = MicrophoneSettings()
    recogniser: RecogniserSettings = RecogniserSettings()
    speaker: SpeakerSettings = SpeakerSettings()
    station: StationSettings = StationSettings()

    @classmethod
    def load(cls, path: Path) -> "Settings":
        """Settings of a TOML file; the defaults where there is none. Raises SettingsError, one line."""
        try:
            found = tomllib.loads(path.read_text(encoding="utf-8"))
        except FileNotFoundError:
            return cls()
        except (OSError, UnicodeDecodeError) as error:
            raise SettingsError(f"{path} can't be read ({error}); mend it or move it away.") from None
        except tomllib.TOMLDecodeError as error:
            raise SettingsError(f"{path} is not TOML: {error}; mend that line.") from None
        return _converted(found, path)

    @property
    def rules(self) -> BatchRules:
        """The house rules as the core takes them."""
        return BatchRules(**msgspec.structs.asdict(self.batch))


SECTIONS: dict[str, type[_Section]] = {
    name: kind for name, kind in get_type_hints(Settings).items() if issubclass(kind, _Section)
}


def _converted(found: dict[str, Any], path: Path) -> Settings:
    """Settings of what a file held, section by section, so that each mistake names its place."""
    sections: dict[str, Any] = {}
    for name, values in found.items():
        if name not in SECTIONS:
            raise SettingsError(f"{path}: there is no section [{name}]{_near(name, SECTIONS)}.")
        if not isinstance(values, dict):
            raise SettingsError(f"{path}: {name} = {values!r} stands alone; it is a section: [{name}].")
        sections[name] = _section(SECTIONS[name], name, values, path)
    settings = Settings(**sections)
    batch = settings.batch
    if not batch.low_pct <= batch.target_pct <= batch.high_pct:
        raise SettingsError(
            f"{path}: [batch] low_pct {batch.low_pct:g}, target_pct {batch.target_pct:g}, high_pct "
            f"{batch.high_pct:g}: they must rise in this order; mend one of them."
        )
    return settings


def _section(kind: type[_Section], name: str, values: dict[str, Any], path: Path) -> _Section:
    known = kind.__struct_fields__
    for key, value in values.items():
        where = f"{path}: [{name}] {key}"
        if key not in known:
            raise SettingsError(f"{where} is no setting{_near(key, known)}.")
        try:
            msgspec.convert({key: value}, kind)
        except msgspec.ValidationError as error:
            what = str(error).split(" - at ")[0].replace("`", "")
            raise SettingsError(
                f"{where} = {value!r}: {what[0].lower()}{what[1:]}; mend that line."
            ) from None
    return msgspec.convert(values, kind)


def _near(word: str, known: Any) -> str:
    close = get_close_matches(word, list(known), 1)
    return f"; did you mean {close[0]}" if close else f"; there are {', '.join(known)}"


def settings_table() -> str:
    """All settings as a Markdown table: section, setting, default, allowed, what it does."""
    lines = ["| section | setting | default | allowed | what it does |", "|---|---|---|---|---|"]
    for name, kind in SECTIONS.items():
        for key, schema in _schema(kind).items():
            allowed = _allowed(schema).replace("|", "\\|")
            default = json.dumps(schema["default"])
            lines.append(f"| {name} | {key} | `{default}` | {allowed} | {schema['description']} |")
    return "\n".join(lines)


def _schema(kind: type[_Section]) -> dict[str, dict[str, Any]]:
    """Setting -> its JSON schema: bounds, default, description."""
    found: dict[str, dict[str, Any]] = msgspec.json.schema(kind)["$defs"][kind.__name__]["properties"]
    return found


def _allowed(schema: dict[str, Any]) -> str:
    """The bounds of a setting in words."""
    if "minimum" in schema:
        whole = "a whole number " if schema["type"] == "integer" else ""
        return f"{whole}{schema['minimum']:g} to {schema['maximum']:g}"
    if "pattern" in schema:
        return str(schema["pattern"]).strip("^$()").replace("|", " or ")
    return "true or false" if schema["type"] == "boolean" else "text"


@dataclass(frozen=True, slots=True)
class Home:
    """The folders of a kitchen: `config` holds settings and grammar copies, `data` journal and models."""

    config: Path
    data: Path

    @classmethod
    def find(cls, chosen: Path | None = None) -> Self:
        """One folder for both where it is chosen; else the XDG base directories."""
        if chosen is not None:
            return cls(chosen, chosen)
        config = os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config"
        data = os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share"
        return cls(Path(config) / "crumbcall", Path(data) / "crumbcall")

    def make(self) -> None:
        """Make the data folder; SettingsError when that can't be."""
        try:
            self.data.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise SettingsError(
                f"The folder {self.data} can't be made ({error.strerror}); give another with --home."
            ) from None

    @property
    def settings_file(self) -> Path:
        """The kitchen's settings."""
        return self.config / "settings.toml"

    @property
    def journal_file(self) -> Path:
        """The journal."""
        return self.data / "journal.sqlite"

    @property
    def models_folder(self) -> Path:
        """Downloaded models."""
        return self.data / "models"

    def language_file(self, name: str, language: str = "en") -> Path:
        """The kitchen's own copy of a language file where there is one, else the one that ships."""
        own = self.config / "grammar" / language / name
        return own if own.is_file() else grammar_folder(language) / name

    def language_files(self, name: str, language: str = "en") -> tuple[Path, ...]:
        """The file that ships, then the kitchen's own where there is one."""
        shipped = grammar_folder(language) / name
        own = self.config / "grammar" / language / name
        return (shipped, own) if own.is_file() else (shipped,)
