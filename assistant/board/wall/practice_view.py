"""What the page shows while somebody practises: the practice's own batch, and what to say next. Pure."""

from dataclasses import replace

from assistant.board.board_words import BoardWords
from assistant.board.glance import Glance, LastWords
from assistant.board.wall.headline import Headline

ITS_OWN = ("got_it", "yes", "no", "cancel", "listen")
"""Buttons that mean the kitchen's own state, whatever is practised."""


def looked_at(glance: Glance) -> Glance:
    """The glance whose state counts now: that of the practice, unless the kitchen itself rings or asks."""
    practised, state = glance.practised, glance.state
    if practised is None or practised.state is None or state.ringing or state.question is not None:
        return glance
    # Listening is the station's own, also in a practice.
    shown = replace(practised.state, listening=state.listening)
    return replace(glance, state=shown, last=replace(glance.last or LastWords(), question=""))


def prompted(glance: Glance, words: BoardWords) -> Headline | None:
    """What is to be said now, as the largest on the page; None where something else is."""
    practised = glance.practised
    if practised is None or not practised.prompt or glance.state.ringing:
        return None
    return Headline(words.text("practice.say", said=practised.prompt), is_text=True)
