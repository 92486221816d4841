"""Conditions that the cook tells: temperature of the kitchen and of the dough, humidity of the air."""

from assistant.batch.decide.draft import Draft
from assistant.batch.record import events as ev
from assistant.batch.record.commands import Condition, TellCondition

BOUNDS: dict[Condition, tuple[float, float]] = {
    "kitchen": (-10.0, 60.0),
    "dough": (-10.0, 60.0),
    "humidity": (0.0, 100.0),
}
"""What can be meant: degrees Celsius, and percent of relative humidity."""


def tell(d: Draft, command: TellCondition) -> None:
    """Note a condition with the open batch; a later one takes its place."""
    if d.state.batch is None:
        d.say("no_batch")
        return
    least, most = BOUNDS[command.what]
    if not least <= command.value <= most:
        d.say("condition_impossible", value=command.value, least=least, most=most)
        return
    if d.unsure and not d.confirmed:
        d.ask("unsure", command, "ask_unsure", said=d.text)
        return
    d.happen(ev.ConditionTold(d.now, command.what, command.value))
    d.say("condition_told", "taken", what=command.what, value=command.value)
