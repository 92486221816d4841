"""What the station is like beside its state: whether the cook is heard, and what was heard and said last.

The loop's thread tells it of each turn; the page of this process asks it at any time, a page in another
process reads it from the heartbeat.
"""

import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal

from assistant.batch.record.state import Question, State
from assistant.journal.codec import state_text
from assistant.station.alive.heartbeat import Beat, Heartbeat
from assistant.station.fittings import Ears
from assistant.station.messages import EARS, Heard, Message, Noticed, Typed
from assistant.station.practice import Practised
from assistant.station.station import Turn

Ear = Literal["hears", "waits", "speaks", "off", "lost", "loud", "keyboard"]
"""Whether the cook is heard: yes; after the foot switch; not while it speaks; switched off; no microphone;
too loud; at the keyboard."""

LOOK_EVERY_S = 0.25
"""How often it is looked whether the station speaks, for the heartbeat (s)."""
_CUT = 200
"""Most letters of a sentence that are shown."""


@dataclass(frozen=True, slots=True)
class Words:
    """What was heard and said last."""

    heard: str = ""
    understood: bool = True
    said: str = ""
    question: str = ""
    """What was said when the open question was asked."""


class Presence:
    """Follows the turns. `busy`: whether it speaks; `hears`: whether the cook asked to be heard, or need not.

    `gone`: names of the parts that do not work. `failing`: whether what is decided is in memory alone.
    `practised`: the practice that goes on. `keyboard`: there is no microphone at all.
    """

    def __init__(
        self,
        heartbeat: Heartbeat,
        *,
        busy: Callable[[], bool] = lambda: False,
        hears: Callable[[], bool] = lambda: True,
        gone: Callable[[], Iterable[str]] = tuple,
        failing: Callable[[], bool] = lambda: False,
        practised: Callable[[], Practised | None] = lambda: None,
        keyboard: bool = False,
    ) -> None:
        self._gone = gone
        self._failing = failing
        self._practised = practised
        self._heartbeat = heartbeat
        self._busy = busy
        self._hears = hears
        self._keyboard = keyboard
        self._changed: Callable[[], None] = lambda: None
        self._ears, self._loud = Ears(), False
        self._listening = True
        self._question: Question | None = None
        self.words = Words()

    def on_change(self, changed: Callable[[], None]) -> None:
        """Call this whenever anything of it, or the station's state, is different."""
        self._changed = changed

    @property
    def ear(self) -> Ear:
        """Whether the cook is heard now."""
        if self._keyboard:
            return "keyboard"
        if not self._ears.work:
            return "lost"
        if not self._listening:
            return "off"
        if self._busy():
            return "speaks"
        if self._loud:
            return "loud"
        return "hears" if self._hears() else "waits"

    @property
    def wrong(self) -> tuple[str, ...]:
        """Parts that do not work, besides those that `ear` tells of."""
        return tuple(sorted(part for part in self._gone() if part not in EARS))

    @property
    def failing(self) -> bool:
        """Whether what is decided is in memory alone."""
        return self._failing()

    @property
    def practised(self) -> Practised | None:
        """The practice that goes on; None: none does."""
        return self._practised()

    def follow(self, turn: Turn, message: Message | None, state: State) -> None:
        """A turn was taken, on a message or by itself."""
        self._ears.follow(message)
        if isinstance(message, Noticed) and message.key in ("too_loud", "hearing_again"):
            self._loud = message.key == "too_loud"
        self._listening = state.listening
        said = " ".join(reply.text for reply in turn.replies)
        heard = message.recognition.text if isinstance(message, Heard) else turn.said
        words = self.words
        if heard:
            words = replace(words, heard=heard[:_CUT], understood=turn.command is not None)
        if said:
            words = replace(words, said=said[:_CUT])
        if state.question is None:
            words = replace(words, question="")
        elif state.question != self._question:
            asked = " ".join(reply.text for reply in turn.replies if reply.tone == "question")
            words = replace(words, question=(asked or said)[:_CUT])
        self._question, self.words = state.question, words
        self._tell()

    def left_alone(self, message: Message) -> None:
        """A message led to no turn: what was heard in it was not understood."""
        text = message.recognition.text if isinstance(message, Heard) else ""
        text = message.text if isinstance(message, Typed) else text
        if text:
            self.words = replace(self.words, heard=text[:_CUT], understood=False)
            self._tell()

    def run(self, stop: threading.Event) -> None:
        """Tell the heartbeat whenever the ear changes by itself, as with the voice; until stopped."""
        before: Ear | None = None
        while not stop.wait(LOOK_EVERY_S):
            if (now := self.ear) != before:
                before = now
                self._tell()

    def _tell(self) -> None:
        words, practised = self.words, self.practised
        self._heartbeat.tell(
            Beat(
                "",
                0.0,
                0.0,
                wall_trusted=False,
                hearing=self.ear,
                heard=words.heard,
                understood=words.understood,
                said=words.said,
                question=words.question,
                gone=",".join(sorted(self._gone())),
                failing=self.failing,
                practising=practised is not None,
                prompt="" if practised is None else practised.prompt,
                practice="" if practised is None or practised.state is None else state_text(practised.state),
            )
        )
        self._changed()
