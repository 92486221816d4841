"""One clip through the real recogniser, and what came of it."""

import math
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field

from assistant.app.application import Application
from assistant.batch.decide.decide import Said, decide
from assistant.batch.record import events as ev
from assistant.batch.record.commands import Ask, Command, Incomplete
from assistant.batch.record.state import State
from assistant.hearing.level import own_snr_db
from assistant.nlu.likelihood import surprise
from assistant.nlu.rescoring import is_twin_near, rescored
from assistant.ports import Asking, Pcm, Recogniser, Recognition, Utterance

OUTCOMES = ("right", "asked", "again", "caught", "wrong")
"""Right at once; right after a question; nothing acted on, to be said again; a wrong command that a question,
or the station's asking for its number, holds up; a wrong command acted on without a question."""


@dataclass(frozen=True)
class Case:
    """A clip with what is said in it; `command` None: nothing may be acted on. `odd`: an unplanned amount."""

    text: str
    command: Command | None
    pcm: Pcm
    voice: str
    noise: str
    snr: str
    state: State | None = None
    now: float = 0.0
    asking: Asking = Asking.NOTHING
    odd: bool = False
    end_s: float = 0.0


Policy = Callable[[Application, Case, Recognition[Command]], Recognition[Command]]
"""What becomes of a recognition in a case."""

TwinNear = Callable[[Recognition[Command], float | None], bool]
"""Recognition and ratio (dB) -> whether the twin of the number may have been said."""


@dataclass
class Result:
    """Everything recognised in a case, in order, and when it could be decided (s after the end of speech)."""

    case: Case
    found: list[Recognition[Command]] = field(default_factory=list)
    ratios: list[float | None] = field(default_factory=list)
    waits: list[float] = field(default_factory=list)
    fixed_waits: list[float] = field(default_factory=list)
    cut_short: bool = False
    cpu_s: float = 0.0


def listen(application: Application, recogniser: Recogniser[Command], case: Case) -> Result:
    """Hear a clip block by block.

    Waits are the stream's time plus the CPU time of the recogniser's thread.
    """
    result = Result(case)
    took = 0.0

    def recognise(utterance: Utterance) -> "Future[Recognition[Command]]":
        nonlocal took
        begin = time.thread_time()
        done: Future[Recognition[Command]] = Future()
        done.set_result(recogniser.recognise(utterance.sound, asking=case.asking))
        took = time.thread_time() - begin
        return done

    listener = application.listener(recognise)
    closed_s = application.settings.microphone.closed_silence_s
    end_s = application.settings.microphone.end_silence_s
    begin = time.process_time()
    blocks = [case.pcm[at : at + 512] for at in range(0, len(case.pcm), 512)]
    for spoken in (
        one
        for block in [*blocks, None]
        for one in (listener.flush() if block is None else listener.feed(block))
    ):
        found = spoken.recognition.result()
        result.found.append(found)
        result.ratios.append(own_snr_db(spoken.utterance.sound.pcm))
        if found.accepted:
            waited = listener.endpointer.heard_s - spoken.utterance.end
            late = spoken.utterance.end - case.end_s
            result.waits.append(late + max(waited, min(waited, closed_s) + took))
            result.fixed_waits.append(late + end_s + took)
            result.cut_short |= late < -0.15
    result.cpu_s = time.process_time() - begin
    return result


def as_heard(_application: Application, _case: Case, found: Recognition[Command]) -> Recognition[Command]:
    """Policy: take it as it is."""
    return found


def as_meant(application: Application, case: Case, found: Recognition[Command]) -> Recognition[Command]:
    """Policy of the station: where the state is known, by what can be meant now."""
    state = case.state
    if state is None:
        return found

    def odd(command: Command | None) -> float:
        return surprise(state, command, application.rules)

    return rescored(found, odd)


def outcome(
    application: Application, result: Result, policy: Policy, *, twin_near: TwinNear = is_twin_near
) -> str:
    """What came of a case: the worst of what was decided in it.

    `twin_near`: whether the sound speaks for a number's twin.
    """
    case = result.case
    state = case.state or State()
    kinds = set()
    for heard, ratio in zip(result.found, result.ratios, strict=True):
        found = policy(application, case, heard)
        if not found.accepted:
            if found.near and case.asking is Asking.NOTHING:
                kinds |= _doubted(application, case, found)
            continue
        command = found.meaning
        if command is not None:
            unsure = found.sure < application.settings.recogniser.act_above
            said = Said(command, "voice", found.text, unsure, twin_near(found, ratio))
            kinds.add(_kind(application, case, state, said))
    return max(kinds or {"again"}, key=OUTCOMES.index)


def _kind(application: Application, case: Case, state: State, said: Said) -> str:
    command, unsure = said.command, said.unsure
    right = command == case.command
    if isinstance(command, Incomplete) and not right:
        return "caught"
    asks = unsure and not isinstance(command, Ask | Incomplete)
    if case.state is not None:
        asked = _question(application, state, case.now, said)
        # A question that the honest command itself raises (past high, time running) is not a fault of
        # hearing.
        asks = asked is not None and not (right and asked not in ("twin", "unsure"))
        if right and unsure and asked is None:
            asks = False
    if right:
        return "asked" if asks else "right"
    return "caught" if asks else "wrong"


def _doubted(application: Application, case: Case, found: Recognition[Command]) -> set[str]:
    """What comes of a sentence that fits badly: a question, where the state asks one.

    Without a state a command counts as left alone, and talk as asked about.
    """
    command = found.meaning
    if command is None or isinstance(command, Ask | Incomplete):
        return set()
    if case.state is None:
        return set() if case.command is not None else {"caught"}
    said = Said(command, "voice", found.text, unsure=True)
    if _question(application, case.state, case.now, said) is None:
        return set()
    return {"asked" if command == case.command else "caught"}


def _question(application: Application, state: State, now: float, said: Said) -> str | None:
    decision = decide(state, said, now, application.rules)
    asked = [event for event in decision.events if isinstance(event, ev.QuestionAsked)]
    return asked[-1].reason if asked else None


def quantile(values: Sequence[float], share: float) -> float:
    """Value below which this share is; nan without values."""
    if not values:
        return math.nan
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]
