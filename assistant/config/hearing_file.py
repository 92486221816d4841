"""What a hearing test found: limits of the recogniser, in a file of their own beside the settings."""

from pathlib import Path

from assistant.errors import SettingsError

FILE = "hearing.toml"


def write_hearing(settings_file: Path, act_above: float, remark: str) -> Path:
    """Keep limits where `Settings.load` of that settings file reads them; returns the file's path.

    Raises SettingsError where it can't be written.
    """
    file = settings_file.parent / FILE
    text = f"# Found by crumbcall hearing-test. What settings.toml says counts more.\n# {remark}\n"
    text += f"[recogniser]\nact_above = {act_above:g}\n"
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
    except OSError as error:
        raise SettingsError(
            f"{file} can't be written ({error.strerror}); make room or choose another --home."
        ) from None
    return file
