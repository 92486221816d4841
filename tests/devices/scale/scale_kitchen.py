"""A cook, a station and a load cell to calibrate and pour with: typed words, simulated counts."""

import math
from pathlib import Path
from queue import Queue
from random import Random

from assistant.app.scale_setup import calibration_keeper
from assistant.clock import ScriptedClock
from assistant.devices.scale.calibrating import TAKE_S
from assistant.devices.scale.jug_scale import Keep
from assistant.devices.scale.weight import Calibration, load_calibration
from assistant.station.loop import act
from assistant.station.messages import Message, Noticed, Weighed
from assistant.station.scale_adapter import ScaleAdapter
from tests.devices.scale.plate import MOTOR_HZ, counts_of
from tests.station.stand import Stand

BEFORE = Calibration(zero=84_000, counts_per_gram=420, mass_g=1800, noise_g=0.4)
TRUTH = Calibration(zero=85_000, counts_per_gram=428, mass_g=0, noise_g=0)
"""What the cell really does: its span is 1.9 % off the calibration before, its zero 2.4 g."""

EMPTY = "Take everything off the scale, then say done."
MASS = "Put a known weight on, then say how many grams."
HANDS_OFF = "Hands off."
TAKEN = TAKE_S + 0.5


class Kitchen:
    """A cook, a station and a cell that are there; time goes on with `rest`."""

    def __init__(
        self,
        folder: Path,
        before: Calibration | None = BEFORE,
        truth: Calibration = TRUTH,
        *,
        inbox: "Queue[Message] | None" = None,
        keep: Keep | None = None,
    ) -> None:
        self.file = folder / "scale.json"
        self.inbox: Queue[Message] = Queue() if inbox is None else inbox
        keep = keep or calibration_keeper(self.file, ScriptedClock())
        self.adapter = ScaleAdapter(before, self.inbox, keep)
        self.stand, self.truth = Stand(scale=self.adapter), truth
        self.at, self.on_g, self.random = 0.0, 0.0, Random(1)

    @property
    def water_g(self) -> float:
        batch = self.stand.station.state.batch
        return 0.0 if batch is None else batch.water_g

    def say(self, text: str, *, unsure: bool = False) -> str:
        return self.stand.say(text, unsure=unsure)

    def rest(self, seconds: float, *, motor_g: float = 0.0, push_g_per_s: float = 0.0) -> str:
        """What is said by itself while samples come, ten a second."""
        said = []
        for step in range(round(seconds * 10)):
            self.at += 0.1
            load = self.on_g + push_g_per_s * step / 10 + self.random.gauss(0, 0.15)
            load += motor_g * math.sin(2 * math.pi * MOTOR_HZ * self.at)
            self.adapter.scale.feed(counts_of(self.truth, load), self.at)
            while not self.inbox.empty():
                message = self.inbox.get_nowait()
                assert isinstance(message, Noticed | Weighed)
                turn = act(self.stand.station, message)
                said += [reply.text for reply in turn.replies] if turn else []
        return " ".join(said)

    def put(self, grams: float) -> "Kitchen":
        self.on_g = grams
        return self

    def pour(self, grams: float) -> str:
        """Lift, pour, put back."""
        full = self.on_g
        return self.put(0).rest(3) + self.put(full - grams).rest(5)

    def emptied(self) -> "Kitchen":
        """A calibration, as far as the question for the grams."""
        assert self.say("set the scale") == EMPTY
        assert self.put(0).rest(1) == ""
        assert self.say("done") == HANDS_OFF
        assert self.rest(TAKEN) == MASS
        return self

    def factor(self) -> float | None:
        kept = load_calibration(self.file)
        return None if kept is None else kept.counts_per_gram
