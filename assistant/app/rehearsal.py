"""A rehearsal: a synthetic cook plays a scene, as sound, with the real recogniser, journal and voice.

Nothing is handed over as text: the cook's sentence becomes sound, is mixed with the motor, cut out by the
endpointer and recognised. A cook who gets no answer says it once more; one who is asked answers by what was
meant.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from assistant.audio.motor import motor
from assistant.audio.recorder import FileSpeaker
from assistant.audio.resample import resample
from assistant.batch.record.commands import WalkMove
from assistant.clock import ScriptedClock
from assistant.config.language.scene import Cue, Scene
from assistant.hearing.listeners import RecordedHearing
from assistant.nlu import Grammar
from assistant.nlu.grammar import may_be_said
from assistant.ports import SPEECH_RATE, Asking, Pcm, Sound, Voice
from assistant.station.loop import TurnHandler
from assistant.station.messages import Heard, Message
from assistant.station.speaking import Announcer
from assistant.station.station import Station, Turn

STEP_S = 0.032
COOK_DBFS = -23.0
MOTOR_DBFS = -43.0
ANSWER_WITHIN_S = 2.5


@dataclass(slots=True)
class Report:
    """How it went."""

    right: int = 0
    """Commands that were right at once."""
    again: int = 0
    """Commands that were right after being said again, or after a question."""
    wrong: list[str] = field(default_factory=list)
    """Commands that were not heard, or heard wrongly."""
    talk: int = 0
    """Sentences of kitchen talk."""
    answered_talk: list[str] = field(default_factory=list)
    """Those of them that were acted on."""

    @property
    def good(self) -> bool:
        """Whether every command was heard in the end and no talk was acted on."""
        return not self.wrong and not self.answered_talk


class Rehearsal:
    """Plays a scene.

    `hearing` makes what hears the scene, given the handler of its turns. `show` gets every turn and, for
    spoken ones, what the cook really said. `pace` waits for this many seconds of the scene, or not at all.
    """

    def __init__(
        self,
        station: Station,
        clock: ScriptedClock,
        grammar: Grammar,
        *,
        cook: Voice,
        speaker: FileSpeaker,
        announcer: Announcer,
        hearing: Callable[[TurnHandler], RecordedHearing],
        show: Callable[[Turn, Heard | None, str | None], None],
        pace: Callable[[float], None] = lambda _: None,
    ) -> None:
        self._station = station
        self._clock = clock
        self._grammar = grammar
        self._cook = cook
        self._speaker = speaker
        self._announcer = announcer
        self._hearing = hearing(self._on_turn)
        self._show = show
        self._pace = pace
        self._saying: str | None = None
        self._turns: list[Turn] = []
        self._samples = 0
        self.report = Report()

    def _on_turn(self, turn: Turn, message: Message | None) -> None:
        """A turn of the station: shown, spoken into the recording, and noticed by the cook."""
        self._turns.append(turn)
        self._show(turn, message if isinstance(message, Heard) else None, self._saying)
        self._announcer.speak(turn.replies)

    def play(self, scene: Scene) -> Report:
        """Play all turns; returns the report."""
        following = (*scene.turn[1:], Cue())
        for cue, after in zip(scene.turn, following, strict=True):
            if cue.say is not None:
                self._command(cue.say, after)
            elif cue.talk is not None:
                self._talk(cue.talk)
            elif cue.wait is not None:
                self._pass(cue.wait)
            else:
                self._until_ring()
        self._quiet()
        return self.report

    def _command(self, text: str, after: Cue) -> None:
        """Say a command until it is understood, twice at most; answer a question that is not in the scene."""
        meant = self._grammar.parse(text, asking=self._station.asking)
        for attempt in range(2):
            turns = self._say(text)
            heard = next((turn.command for turn in turns if turn.command is not None), None)
            if heard == meant:
                asked = self._station.state.question is not None and not self._answers(after)
                if asked:
                    self._say("yes")
                if attempt or asked:
                    self.report.again += 1
                else:
                    self.report.right += 1
                return
            if heard is not None:
                if self._station.state.question is None:
                    break
                self._say("no")
        self.report.wrong.append(text)

    def _answers(self, cue: Cue) -> bool:
        """Whether the scene goes on with an answer of its own: yes, no, or the value that is asked for."""
        if cue.say is None:
            return False
        meant = self._grammar.parse(cue.say, asking=self._station.asking)
        return (
            meant is not None and not isinstance(meant, WalkMove) and not may_be_said(meant, Asking.NOTHING)
        )

    def _talk(self, text: str) -> None:
        self.report.talk += 1
        if any(turn.command is not None for turn in self._say(text, patience_s=1.2)):
            self.report.answered_talk.append(text)

    def _say(self, text: str, *, patience_s: float = ANSWER_WITHIN_S) -> list[Turn]:
        """Speak a sentence once the station is silent; the turns up to its answer, or until `patience_s`."""
        self._quiet()
        self._pass(0.5)
        self._saying = text
        spoken = resample(self._cook.speak(text), SPEECH_RATE)
        level = float(np.sqrt(np.mean(np.square(spoken.pcm.astype(np.float64)))))
        gain = 10 ** (COOK_DBFS / 20) * 32768 / max(level, 1.0)
        sound = Sound(np.clip(spoken.pcm * gain, -32768, 32767).astype(np.int16))
        self._speaker.mix(sound, self._clock.monotonic())
        before = len(self._turns)
        self._hear(sound.pcm)
        until = self._clock.monotonic() + patience_s
        while self._clock.monotonic() < until and not self._answered(before):
            self._pass(STEP_S)
        if not self._answered(before):
            self._show(Turn(self._clock.monotonic(), text, None, ()), None, text)
        self._saying = None
        return [turn for turn in self._turns[before:] if turn.said is not None]

    def _answered(self, before: int) -> bool:
        return any(turn.said is not None for turn in self._turns[before:])

    def _quiet(self) -> None:
        """Let the station finish its sentence, and the room its echo."""
        while self._speaker.busy:
            self._pass(STEP_S)
        self._pass(0.3)

    def _until_ring(self) -> None:
        while self._station.state.timers and not self._station.state.ringing:
            self._pass(STEP_S * 8)

    def _pass(self, seconds: float) -> None:
        self._hear(np.zeros(round(seconds * SPEECH_RATE), np.int16))

    def _hear(self, pcm: Pcm) -> None:
        """The microphone's sound of the next stretch: what is said, and the motor."""
        noise = motor(len(pcm), level_dbfs=MOTOR_DBFS, seed=7, start=self._samples)
        mixed = np.clip(pcm.astype(np.int32) + noise, -32768, 32767).astype(np.int16)
        self._samples += len(pcm)
        self._hearing.feed(mixed)
        self._pace(len(pcm) / SPEECH_RATE)
