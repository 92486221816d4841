"""The table of replies: read from TOML, checked against all that can be announced, and spoken from."""

from collections.abc import Mapping
from pathlib import Path
from typing import Self

from assistant.batch.record.announcements import SAYABLE, Announcement
from assistant.nlg.render import formats_of, sentence
from assistant.nlg.speech import Speech
from assistant.nlg.templates import Wording, load_wordings


class Replies:
    """All that can be said in one language."""

    def __init__(self, replies: Mapping[str, Wording], speech: Speech) -> None:
        self._replies = dict(replies)
        self._speech = speech

    @classmethod
    def load(cls, *paths: Path, speech: Speech) -> Self:
        """Read one file or several; a later one changes single replies of those before it.

        `speech` says values and names in the language of the files.

        Raises GrammarError (one line) where a file can't be read, a key of `SAYABLE` has no wording, or a
        key, value or format is not one that there is.
        """
        wanted = {key: {name: formats_of(name) for name in names} for key, names in SAYABLE.items()}
        return cls(load_wordings(paths, wanted, "nothing is announced as {key}"), speech)

    def render(self, announcement: Announcement) -> str:
        """The sentence to say."""
        template = self._replies[announcement.key].pick(announcement.values)
        return sentence(template, announcement.values, self._speech)

    def fixed(self) -> list[str]:
        """Sentences that hang on no value: a voice may make their sound ahead of time."""
        wordings = [w for reply in self._replies.values() for w in (*reply.cases.values(), reply.other)]
        whole = (
            sentence(w, {}, self._speech) for w in wordings if all(isinstance(piece, str) for piece in w)
        )
        return sorted(set(whole))
