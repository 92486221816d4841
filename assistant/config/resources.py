"""Where the data that ships with the program is, installed or in a checkout."""

from pathlib import Path

ENGLISH = "en"
"""The language of the commands, and of every file that another language lacks."""

_PACKAGE = Path(__file__).parents[1]


def grammar_folder(language: str = ENGLISH) -> Path:
    """Folder with what may be said and what is answered in one language.

    A wheel carries `grammar/` as `assistant/_grammar`; a checkout has it beside the package.
    """
    return _grammar() / language


def languages(*folders: Path) -> tuple[str, ...]:
    """Languages that have a folder of their own: those that ship, and those in these folders; sorted."""
    found = (folder for parent in (_grammar(), *folders) if parent.is_dir() for folder in parent.iterdir())
    return tuple(sorted({folder.name for folder in found if folder.is_dir()}))


def _grammar() -> Path:
    inside = _PACKAGE / "_grammar"
    return inside if inside.is_dir() else _PACKAGE.parent / "grammar"
