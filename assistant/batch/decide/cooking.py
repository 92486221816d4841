"""A shape in the boiling water: its time by the kitchen's settings, and "taste one" before it is up.

Fresh extruded pasta takes 5 to 7 minutes: common practice, no source. The kitchen's own times count.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.record import events as ev
from assistant.batch.record.commands import Cook

TASTE_S = 60.0
"""One is tasted so long before its time is up (s)."""


def cook(d: Draft, command: Cook) -> None:
    """Time a shape in the water; one of the same shape is replaced."""
    if d.unsure and not d.confirmed:
        d.ask("unsure", command, "ask_unsure", said=d.text)
        return
    seconds = d.known.cooking_s.get(command.name, d.rules.cook_s)
    due = d.now + seconds
    taste_at = due - TASTE_S if seconds >= 2 * TASTE_S else None
    d.happen(ev.TimerSet(d.now, command.name, seconds, due, "cook", taste_at))
    d.say("cooking_for", "taken", die=command.name, seconds=seconds)
