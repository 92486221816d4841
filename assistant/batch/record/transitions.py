"""The law of the batch: which event may happen in which phase, and where it leads.

A phase moves only by this table. A pair that is not in it raises ImpossibleEvent: `decide` must never make
such an event, whatever the cook says. Events of `EVERYWHERE` (timers, questions, the station) touch no phase.
A batch that is withdrawn from takes the phase that it had before the event.
"""

from enum import Enum


class Phase(Enum):
    """Where the batch stands."""

    IDLE = "idle"
    POURING = "pouring"
    MIXING = "mixing"
    RESTING = "resting"
    SQUEEZING = "squeezing"
    READY = "ready"
    EXTRUDING = "extruding"


IDLE, POURING, MIXING = Phase.IDLE, Phase.POURING, Phase.MIXING
RESTING, SQUEEZING, READY, EXTRUDING = Phase.RESTING, Phase.SQUEEZING, Phase.READY, Phase.EXTRUDING

# Rows: what happened. Columns: the phase in which it happened. Cells: the phase after it; a phase that is not
# named in a row forbids the event. Crumb verdicts are three rows, since they lead to three places.
TABLE: dict[str, dict[Phase, Phase]] = {
    "BatchOpened": {IDLE: POURING},
    "WaterAdded": {
        POURING: POURING,
        MIXING: MIXING,
        RESTING: RESTING,
        SQUEEZING: POURING,
        READY: POURING,
        EXTRUDING: EXTRUDING,
    },
    "FlourAdded": {
        POURING: POURING,
        MIXING: MIXING,
        RESTING: RESTING,
        SQUEEZING: POURING,
        READY: POURING,
        EXTRUDING: EXTRUDING,
    },
    "MixStarted": {
        IDLE: IDLE,
        POURING: MIXING,
        MIXING: MIXING,
        RESTING: MIXING,
        SQUEEZING: MIXING,
        READY: MIXING,
        EXTRUDING: MIXING,
    },
    "MixEnded": {MIXING: SQUEEZING},
    "RestStarted": {
        IDLE: IDLE,
        POURING: RESTING,
        MIXING: RESTING,
        RESTING: RESTING,
        SQUEEZING: RESTING,
        READY: RESTING,
        EXTRUDING: RESTING,
    },
    "RestEnded": {RESTING: SQUEEZING},
    "CrumbJudged dry": {
        POURING: POURING,
        MIXING: POURING,
        RESTING: POURING,
        SQUEEZING: POURING,
        READY: POURING,
        EXTRUDING: EXTRUDING,
    },
    "CrumbJudged ready": {
        POURING: READY,
        MIXING: READY,
        RESTING: READY,
        SQUEEZING: READY,
        READY: READY,
        EXTRUDING: EXTRUDING,
    },
    "CrumbJudged wet": {
        POURING: POURING,
        MIXING: POURING,
        RESTING: POURING,
        SQUEEZING: POURING,
        READY: POURING,
        EXTRUDING: EXTRUDING,
    },
    "ExtrudingStarted": {
        POURING: EXTRUDING,
        MIXING: EXTRUDING,
        RESTING: EXTRUDING,
        SQUEEZING: EXTRUDING,
        READY: EXTRUDING,
        EXTRUDING: EXTRUDING,
    },
    "BatchClosed": {phase: IDLE for phase in Phase if phase is not IDLE},
    "BatchDropped": {phase: IDLE for phase in Phase if phase is not IDLE},
}

# Facts about an open batch that move no phase.
IN_A_BATCH = frozenset(
    {
        "EntryCorrected",
        "EntryWeighed",
        "DieNamed",
        "DieWarmed",
        "ScrapWeighed",
        "TrayFilled",
        "PortionsCounted",
        "ConditionTold",
    }
)

# Facts that may come at any time and move no phase.
EVERYWHERE = frozenset(
    {
        "Withdrawn",
        "TargetSet",
        "LotNamed",
        "RecipeChosen",
        "TimerSet",
        "TimerExtended",
        "TimerStopped",
        "TimerWarned",
        "TimerRang",
        "TimerCalled",
        "TimerAcknowledged",
        "QuestionAsked",
        "QuestionSettled",
        "ListeningSet",
        "LoudnessSet",
        "PaceSet",
        "StationStarted",
        "WalkBegan",
        "StepSettled",
        "StepBack",
        "WalkLeft",
        "WalkResumed",
        "WalkEnded",
        "TrayChilled",
        "CutterTold",
    }
)


def after(phase: Phase, row: str) -> Phase | None:
    """Phase after the event of this row; None where the table forbids it."""
    if row in EVERYWHERE:
        return phase
    if row in IN_A_BATCH:
        return None if phase is IDLE else phase
    return TABLE[row].get(phase)


def diagram() -> str:
    """The table drawn as a Mermaid state diagram, for DEVELOPERS.md."""
    lines = ["stateDiagram-v2", "    [*] --> idle"]
    for row, cells in TABLE.items():
        for source, target in cells.items():
            if source is not target:
                lines.append(f"    {source.value} --> {target.value}: {row}")
    return "\n".join(lines)
