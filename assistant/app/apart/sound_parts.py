"""Microphone, speaker and voice of a live station: what is not there is told, and found later."""

from collections.abc import Callable
from functools import partial
from threading import Event

from assistant.app.adapters import lasting_speaker, lasting_voice, tones
from assistant.app.application import Application
from assistant.audio.lasting_speaker import LastingSpeaker
from assistant.errors import SoundError, VoiceError
from assistant.ports import Microphone
from assistant.station.alive.vital_parts import Parts
from assistant.station.speaking import Announcer

VOICE_S = 90.0
"""A sentence is made, or the voice's process ended and begun anew, within this time (s)."""


class Microphones:
    """Opens microphones; the first at once, so that a station without one says so at its start."""

    def __init__(self, open_one: Callable[[], Microphone], parts: Parts, warn: Callable[[str], None]) -> None:
        self._open = open_one
        self._first: Microphone | None = None
        try:
            self._first = open_one()
        except SoundError as error:
            parts.missing("microphone", str(error))
            warn(f"No microphone: {str(error).rstrip('.')}. It is looked for; timers and page go on.")

    def take(self) -> Microphone:
        """The first, or a fresh one. Raises SoundError."""
        first, self._first = self._first, None
        return self._open() if first is None else first

    def close(self) -> None:
        """Close the first, where nobody took it."""
        if self._first is not None:
            self._first.close()


def found_speaker(app: Application, parts: Parts, warn: Callable[[str], None]) -> LastingSpeaker:
    """The speaker; where there is none now, one clear line, and it is looked for."""
    speaker = lasting_speaker(app.settings, partial(parts.lost, "speaker"), partial(parts.found, "speaker"))
    if not speaker.look():
        warn(_silent(parts.gone.get("speaker", "there is no speaker")))
    return speaker


def _silent(why: str) -> str:
    return f"No voice: {why.rstrip('.')}. Replies stay on this terminal."


def open_announcer(
    app: Application, speaker: LastingSpeaker, parts: Parts, warn: Callable[[str], None]
) -> tuple[Announcer, Callable[[], None]]:
    """What speaks, and how its voice is ended; where there is none, one clear line, and the tones go on."""
    voice = lasting_voice(app.settings)
    try:
        voice.speak("Ready.")
    except VoiceError as error:
        parts.missing("voice", str(error))
        warn(_silent(str(error)))

    ending = Event()

    def end() -> None:
        ending.set()
        voice.close()

    def silent(why: str) -> None:
        if ending.is_set() or "speaker" in parts.gone:  # nothing is to be said any more; that was told
            return
        parts.lost("voice", why)
        warn(_silent(why))

    def at_work(working: bool) -> None:
        if working:
            parts.due("voice", VOICE_S)
        else:
            parts.rests("voice")

    announcer = Announcer(
        voice,
        speaker,
        tones(),
        often=app.replies.fixed(),
        on_silent=silent,
        on_voice=partial(parts.found, "voice"),
        at_work=at_work,
    )
    return announcer, end
