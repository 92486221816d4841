"""The work of some answers, between marks: `python -m tests.bench.emulated.work count|time WAV...`.

With "count" a mark is the system call that `count.c` looks out for; with "time" each mark is printed with the
processor's time in nanoseconds.
"""

import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from assistant.app.application import open_application
from assistant.app.pi_model import arithmetic, interpreting
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.audio.files import read_sound
from assistant.clock import RealClock
from assistant.config.home import Home
from assistant.station.speaking import first_and_rest

MARK = 0x43420000
"""As in count.c."""
REFERENCES = 2
"""Runs of each piece of reference work, the second warm; marks 2n and 2n + 1 are around the n-th."""
ANSWERS = 1000
"""Four marks an answer from here on: around network, recogniser, station and voice."""


def by_system_call(number: int) -> None:
    """Mark a moment for the one who counts."""
    try:
        os.getpriority(os.PRIO_PROCESS, MARK + number)
    except OSError:
        return


def by_clock(number: int) -> None:
    """Mark a moment by the processor's time."""
    print(number, time.process_time_ns(), flush=True)


def work(mark: Callable[[int], None], files: list[Path]) -> None:
    """All of it, once without marks, so that nothing is loaded between them."""
    for number in range(2 * REFERENCES):
        done = arithmetic if number < REFERENCES else interpreting
        mark(2 * number)
        done()
        mark(2 * number + 1)
    with tempfile.TemporaryDirectory() as folder:
        app = open_application(Home.find(Path(folder)))
        station, journal, _ = app.open_station(RealClock())
        recogniser, voice = app.recogniser(), app.voice()
        if not isinstance(recogniser, PhonemeRecogniser):
            sys.exit("the built-in recogniser is what is counted here")
        warmed = recogniser.recognise(read_sound(files[0]))
        voice.speak(warmed.text)
        for number, file in enumerate(files):
            sound = read_sound(file)
            first = ANSWERS + 4 * number
            mark(first)
            recogniser.outputs(sound)
            mark(first + 1)
            found = recogniser.recognise(sound, asking=station.asking)
            mark(first + 2)
            turn = station.recognised(found, unsure=False)
            if turn.replies and turn.replies[0].tone is None:
                voice.speak(first_and_rest(turn.replies[0].text)[0])
            mark(first + 3)
        journal.close()


if __name__ == "__main__":
    work(by_system_call if sys.argv[1] == "count" else by_clock, [Path(name) for name in sys.argv[2:]])
