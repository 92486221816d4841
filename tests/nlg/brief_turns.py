"""Whether what one decision says is as short as a turn must be, as the station says it."""

from collections.abc import Iterable, Sequence
from functools import partial

from assistant.batch.record.announcements import Announcement
from assistant.nlg.brevity import brief, is_brief
from tests.nlg.off_first import text_of


def check_brief(announcements: Sequence[Announcement], languages: Iterable[str] = ("en", "it")) -> None:
    """Hold a decision to two sentences and six seconds, in each language."""
    for language in languages:
        said = [text for _, text in brief(announcements, partial(text_of, language=language))]
        assert is_brief(said), said
