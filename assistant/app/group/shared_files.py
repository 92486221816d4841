"""Files of a group, taken over by a station and given by it. Nothing is written that could not be used."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import read_stock
from assistant.config.hearing_file import FILE as HEARING_FILE
from assistant.config.home import Home
from assistant.config.language.own_words import FILE as WORDS_FILE
from assistant.config.language.own_words import read_own_words
from assistant.config.language.words_file import write_words as write_whole
from assistant.config.pantry import OWN_FILE, Pantry
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.config.settings import Settings
from assistant.errors import CrumbcallError, SyncError
from assistant.sync.group_file import GroupFile
from assistant.sync.link import connect
from assistant.sync.rounds import Group
from assistant.sync.sending import check_version, claim
from assistant.sync.shared_documents import (
    SETTINGS,
    Document,
    digest_of,
    files_here,
    share,
    with_settings,
    without,
)
from assistant.sync.shared_documents import newest as newest_files


@dataclass(frozen=True, slots=True)
class Taken:
    """What was taken over."""

    files: tuple[Document, ...]
    """Files that were written."""
    kept: tuple[str, ...]
    """Files or settings that say otherwise here, and stayed."""


def take_over(home: Home, group: Group, *, replace: bool) -> Taken:
    """Write the group's files here. What says otherwise here stays, or with `replace` is kept as FILE.before.

    Raises a CrumbcallError where one could not be used; then none is written.
    """
    with connect(group.server) as link:
        check_version(link, group.server)
        documents = newest_files(link, group.server)
    written: list[tuple[Document, str]] = []
    kept: list[str] = []
    for document in documents:
        text, differ = _as_here(home, document, replace=replace)
        kept += differ
        if text is not None:
            written.append((document, text))
    _check(home, {document.name: text for document, text in written})
    with GroupFile(group.copy) as copy:
        for document, text in written:
            file = home.config / document.name
            if replace and file.is_file() and file.read_text(encoding="utf-8") != text:
                write_whole(file.with_name(file.name + ".before"), file.read_text(encoding="utf-8"))
            write_whole(file, text)
        for document in documents:
            if not any(one.startswith(document.name) for one in kept):
                copy.took(document.name, document.version, document.digest)
    return Taken(tuple(document for document, _ in written), tuple(kept))


def _as_here(home: Home, document: Document, *, replace: bool) -> tuple[str | None, list[str]]:
    """The text to write for a file of the group, None for none; and what stays otherwise here."""
    file = home.config / document.name
    if document.name == SETTINGS:
        text, differ = with_settings(file, document.content)
        if replace and differ:
            with TemporaryDirectory() as folder:
                cleared = Path(folder) / SETTINGS
                cleared.write_text(without(file, differ), encoding="utf-8")
                text, differ = with_settings(cleared, document.content)
        same = file.is_file() and file.read_text(encoding="utf-8") == text
        return None if same else text, [f"{SETTINGS} {one}" for one in differ]
    if not file.is_file():
        return document.content, []
    if file.read_text(encoding="utf-8") == document.content:
        return None, []
    return (document.content, []) if replace else (None, [document.name])


def _check(home: Home, files: dict[str, str]) -> None:
    """Read everything as it would be, in a folder of its own. Raises SyncError for what can't be used."""
    with TemporaryDirectory() as folder:
        trial = Home(Path(folder), Path(folder))
        if (own := home.config / "grammar").is_dir():
            (trial.config / "grammar").symlink_to(own.absolute())
        here = {
            name: path.read_bytes()
            for name in (SETTINGS, HEARING_FILE, LOTS_FILE, WORDS_FILE, OWN_FILE, "allergens.toml")
            if (path := home.config / name).is_file()
        }
        here |= {
            f"{OWN_FOLDER}/{path.name}": path.read_bytes()
            for path in (home.config / OWN_FOLDER).glob("*.toml")
        }
        for name, content in {**here, **{name: text.encode() for name, text in files.items()}}.items():
            path = trial.config / name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(content)
        try:
            Settings.load(trial.settings_file)
            Recipes.load(Pantry.load(trial.config / OWN_FILE), trial.config / OWN_FOLDER)
            read_stock(trial.config / LOTS_FILE)
            read_own_words(trial.config / WORDS_FILE)
        except CrumbcallError as error:
            raise SyncError(
                f"Nothing was taken over, it could not be used here: {str(error).replace(folder, 'group')}"
            ) from error


def give(home: Home, group: Group, *, over: bool) -> Sequence[str]:
    """Give the group this station's files where they differ; their names.

    Raises SyncError where another station gave a newer one that was not taken over here, unless `over`.
    """
    _check(home, {})
    with connect(group.server) as link, GroupFile(group.copy) as copy:
        check_version(link, group.server)
        head = claim(link, group.server, group.me)
        there = {one.name: one for one in newest_files(link, group.server)}
        taken = copy.documents()
        new: dict[str, tuple[int, str]] = {}
        for name, text in files_here(home).items():
            version = there[name].version if name in there else 0
            if version and there[name].content == text:
                copy.took(name, version, digest_of(text))
            elif version and taken.get(name, (0, ""))[0] < version and not over:
                raise SyncError(
                    f"{name} of the group is at version {version}, by {there[name].station!r}, and was not "
                    "taken over here; look at it with crumbcall sync join --replace (yours is kept as "
                    f"{name}.before), or give yours all the same with --over."
                )
            else:
                new[name] = version + 1, text
        share(link, group.server, group.me, head, new)
        for name, (version, text) in new.items():
            copy.took(name, version, digest_of(text))
    return list(new)
