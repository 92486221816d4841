"""Where the data that ships with the program is, installed or in a checkout."""

from pathlib import Path

_PACKAGE = Path(__file__).parents[1]


def grammar_folder(language: str = "en") -> Path:
    """Folder with what may be said and what is answered in one language.

    A wheel carries `grammar/` as `assistant/_grammar`; a checkout has it beside the package.
    """
    inside = _PACKAGE / "_grammar" / language
    return inside if inside.is_dir() else _PACKAGE.parent / "grammar" / language
