"""One root for every error that a person may see: its text is one whole line for them."""

import errno

FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
"""Numbers of the system's errors that mean that there is no room."""
_STORAGE = FULL | {errno.EROFS, errno.EIO, errno.ENXIO, errno.ENODEV}


class CrumbcallError(Exception):
    """What was found, what is allowed, what to do: one line, shown as it is; the program exits 2."""


class SettingsError(CrumbcallError, ValueError):
    """A setting, option or file of the kitchen has a value that can't be used."""


class GrammarError(CrumbcallError, ValueError):
    """A grammar, reply or pronunciation file can't be read, or a sentence in it has two meanings."""


class SoundError(CrumbcallError, OSError):
    """A sound file or device can't be opened, read or played."""


class ModelError(CrumbcallError, OSError):
    """A recogniser's model is missing, damaged or can't be fetched."""


class VoiceError(CrumbcallError, OSError):
    """The voice can't be made: the speech synthesiser is missing or returns no sound."""


class DoughError(CrumbcallError, ValueError):
    """A figure of the dough, of an ingredient or of a lot is out of range."""


class RecipeError(CrumbcallError, ValueError):
    """A recipe can't be read or used."""


class DeviceError(CrumbcallError, OSError):
    """A pin, the foot switch or the jug scale can't be used."""


class ApartError(CrumbcallError, OSError):
    """A process of our own does not answer, or has ended."""


class PaperError(CrumbcallError, OSError):
    """A sheet or a label can't be set, or does not fit."""


class JournalError(CrumbcallError, OSError):
    """The journal can't be opened, read or written."""


class SyncError(CrumbcallError, RuntimeError):
    """The memory of the group can't be reached, read or written; the station works without it."""


class StorageError(JournalError):
    """The storage under the journal is full, read-only or fails: nothing is wrong with the journal itself."""


class ImpossibleEvent(Exception):  # noqa: N818 - the word of the rules of the batch
    """An event that the transition table forbids: our bug, never the cook's."""


def is_storage_failure(error: OSError) -> bool:
    """Whether the storage itself is full, read-only or fails, whatever is asked of it."""
    return error.errno in _STORAGE


class JournalInUseError(JournalError):
    """Another process writes the journal; it can be read all the same."""


def one_line(error: BaseException) -> str:
    """What went wrong, in one line: the text of an error of ours, name and text of any other."""
    text = " ".join(str(error).split())
    return text if isinstance(error, CrumbcallError) else f"{type(error).__name__}: {text}"
