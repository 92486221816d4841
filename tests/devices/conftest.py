from collections.abc import Iterator

import pytest
from gpiozero import Device
from gpiozero.pins.mock import MockFactory

from tests.cli.conftest import run

__all__ = ["run"]


@pytest.fixture
def factory() -> Iterator[MockFactory]:
    """gpiozero's mock pins, in place of a Pi's."""
    before = Device.pin_factory
    made = MockFactory(revision="c03111")
    Device.pin_factory = made
    yield made
    made.reset()
    Device.pin_factory = before
