"""The steps of a calibration without a station: words at the wrong time, and a cell that is too noisy."""

from random import Random

from assistant.devices.scale.calibrating import TAKE_S, CalibrationStep, Guide, Guided
from assistant.devices.scale.weight import Calibration

PER_GRAM = 400


class Cell:
    """Feeds a guide ten samples a second. `noise_g`: most that a sample is off."""

    def __init__(self, guide: Guide, *, noise_g: float = 0.1) -> None:
        self.guide, self.noise_g = guide, noise_g
        self.at, self.random = 0.0, Random(2)

    def rest(self, grams: float, seconds: float = TAKE_S + 0.2) -> list[Guided | Calibration]:
        found = []
        for _ in range(round(seconds * 10)):
            self.at += 0.1
            noise = self.random.choice((-1, 1)) * self.noise_g
            found.append(self.guide.feed(round(84_000 + (grams + noise) * PER_GRAM), self.at))
        return [one for one in found if one is not None]


def test_a_word_while_it_reads_is_answered_with_hands_off() -> None:
    guide = Guide(None)
    assert guide.go_on() == Guided("hands_off")
    assert guide.prompt() == Guided("hands_off")
    assert guide.answer(yes=False) == Guided("hands_off")


def test_a_weight_that_is_said_before_the_plate_is_empty_does_not_count() -> None:
    guide = Guide(None)
    assert guide.weight(1000, unsure=False) == Guided("empty")
    cell = Cell(guide)
    guide.go_on()
    assert cell.rest(0) == [Guided("mass")]
    assert guide.go_on() == Guided("mass"), "no grams were said yet"


def test_a_first_calibration_with_a_noisy_cell_is_not_kept() -> None:
    guide = Guide(None)
    cell = Cell(guide, noise_g=60)
    guide.go_on()
    assert cell.rest(0) == [Guided("mass")]
    assert guide.weight(1000, unsure=False) == Guided("hands_off")
    assert cell.rest(1000) == [Guided("unsteady")]
    assert guide.step is CalibrationStep.MASS
    cell.noise_g = 0.1
    assert guide.go_on() == Guided("hands_off"), "the grams that were said still count"
    assert cell.rest(1000) == [Guided("sure", 1000)]
