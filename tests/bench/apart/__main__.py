"""`python -m tests.bench.apart [--out FILE]`: hand-over, memory, and faults in the processes of a station.

It needs the virtual sound card and espeak-ng, and takes some ten minutes of real time.
"""

import argparse
import os
import signal
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from queue import Queue
from statistics import median

import numpy as np

from assistant.app.apart.recogniser_process import start_recogniser
from assistant.app.application import open_application
from assistant.audio.playback import SoundSpeaker
from assistant.batch.record.commands import Command
from assistant.clock import RealClock
from assistant.config.home import Home
from assistant.hearing.recogniser_apart import RecogniserApart
from assistant.ports import SPEECH_RATE, Sound
from assistant.station.alive.vital_parts import Parts
from tests.asr.speech import espeak
from tests.audio.virtual_card import COOK, LATENCY_S, running_card
from tests.bench.apart.processes import Running, cpu_s, listening, memory_mb

KINDS = ("recogniser", "microphone", "speaker", "voice")
ENDING = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGQUIT)


def room(seconds: float) -> Sound:
    """Faint noise: of exact zeros the microphone would be taken for one that is muted."""
    return Sound(np.random.default_rng(1).integers(-9, 9, round(seconds * SPEECH_RATE)).astype(np.int16))


def say(cook: SoundSpeaker, text: str) -> None:
    """Let the cook say a sentence in that room, now."""
    cook.stop()
    cook.play(Sound(np.concatenate([room(0.5).pcm, espeak(text).pcm // 2, room(50).pcm]).astype(np.int16)))


def handed_over(home: Path) -> list[str]:
    """How long an utterance of two seconds takes here and in a process of its own."""
    app, clock = open_application(Home.find(home)), RealClock()
    apart = RecogniserApart[Command](
        lambda: start_recogniser(app, None), Parts(Queue(), clock.monotonic), clock.monotonic
    )
    apart.wait_until_ready()
    here = app.recogniser()
    pcm = np.zeros(2 * SPEECH_RATE, np.int16)
    spoken = espeak("water one fifty").pcm[: len(pcm)]
    pcm[: len(spoken)] = spoken
    sound = Sound(pcm)
    took: dict[str, list[float]] = {"here": [], "apart": []}
    with closing(apart):
        for _ in range(40):
            for name, one in (("here", here), ("apart", apart)):
                begin = time.perf_counter()
                one.recognise(sound)
                took[name].append(1000 * (time.perf_counter() - begin))
        same = here.recognise(sound) == apart.recognise(sound)
    ours, theirs = median(took["here"]), median(took["apart"])
    best, their_best = min(took["here"]), min(took["apart"])
    return [
        "## Hand-over",
        "",
        '"water one fifty" in two seconds of sound, 40 times each, by turns: '
        f"{ours:.1f} ms in the station's own process, {theirs:.1f} ms in one of its own (medians; "
        f"fastest {best:.1f} and {their_best:.1f}); "
        f"the same answer: {'yes' if same else 'NO'}.",
        "",
    ]


def costs(home: Path) -> list[str]:
    """Memory and CPU of a station that is ready."""
    rows = []
    with listening(home) as running:
        ready = running.keys("ready", 120)
        total = 0.0
        for name, pid in [("station", running.process.pid), *((one, running.child(one)) for one in KINDS)]:
            resident, share = memory_mb(pid)
            total += share
            rows.append(f"| {name} | {resident:.0f} | {share:.0f} | {cpu_s(pid):.1f} |")
    return [
        "## Memory and start",
        "",
        f"Ready after {ready[-1][0]:.1f} s; {total:.0f} MB in all, shared pages counted once.",
        "",
        "| process | resident (MB) | its share (MB) | CPU until ready (s) |",
        "|---|---|---|---|",
        *rows,
        "",
    ]


def hang(running: Running, kind: str) -> None:
    """Stop a process where it is, as one that hangs in a driver."""
    os.kill(running.child(kind), signal.SIGSTOP)


def crash(running: Running, kind: str) -> None:
    """End one as a fault in a library would."""
    os.kill(running.child(kind), signal.SIGSEGV)


def fault(home: Path, kind: str, do: Callable[[Running, str], None]) -> str:
    """A row of the table of faults: what is said and when, and whether a command is heard after it."""
    with listening(home) as running, closing(SoundSpeaker(device=COOK, latency=LATENCY_S)) as cook:
        running.keys("ready", 120)
        cook.play(room(50))
        time.sleep(3)  # noqa: TID251 - until "Ready." is out
        before = running.child(kind)
        begin = time.perf_counter() - running.began
        do(running, kind)
        say(cook, "how much left")
        # The recogniser is missed with the next sentence, the voice too; the devices at once.
        last = "hearing_again" if kind in ("recogniser", "microphone") else "worker_works"
        told = running.keys(last, 20 if kind == "voice" else 60)
        after = running.child(kind, within_s=30)
        time.sleep(6)  # noqa: TID251 - it speaks, and hears nothing meanwhile
        say(cook, "how much left")
        heard = [key for _, key in running.keys("no_batch", 20)]
        status, took, left = running.end()
    said_then = ", ".join(f"{key} ({at - begin:.1f} s)" for at, key in told) or "nothing"
    well = "yes" if heard and after != before else "NO"
    end = f"{status} in {took:.1f} s{', left' if left else ''}"
    return f"| {kind} | {do.__name__} | {said_then} | {well} | {end} |"


def ended_while_hung(home: Path, kind: str) -> str:
    """A row: the end by SIGTERM while a process hangs."""
    with listening(home) as running, closing(SoundSpeaker(device=COOK, latency=LATENCY_S)) as cook:
        running.keys("ready", 120)
        cook.play(room(50))
        time.sleep(3)  # noqa: TID251 - until "Ready." is out
        hang(running, kind)
        say(cook, "how much left")
        time.sleep(4)  # noqa: TID251 - it is waited for now
        status, took, left = running.end()
    return f"| SIGTERM | while the {kind} hangs | 1 | {status} | {took:.1f} | {len(left)} |"


def ended_at_any_moment(home: Path, sent: signal.Signals, times: int) -> str:
    """A row: the end by a signal at moments all over the start."""
    states, longest, left = set[int](), 0.0, 0
    for number in range(times):
        with listening(home) as running:
            time.sleep(0.4 + 6.0 * number / times)  # noqa: TID251 - the moment
            status, took, mine = running.end(sent)
        states.add(status)
        longest, left = max(longest, took), left + len(mine)
    shown = ", ".join(map(str, sorted(states)))
    return f"| {sent.name} | 0.4 to 6.4 s after the start | {times} | {shown} | {longest:.1f} | {left} |"


def main() -> None:
    """Measure, and print or write the tables."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--out", type=Path)
    arguments.add_argument("--times", type=int, default=15, help="ends by each signal")
    wanted = arguments.parse_args()
    for one in ENDING:  # what began in the background of a shell would hand on that some of them are ignored
        if signal.getsignal(one) is signal.SIG_IGN:
            signal.signal(one, signal.SIG_DFL)
    with tempfile.TemporaryDirectory() as folder, running_card(Path(folder)):
        home = Path(folder) / "home"
        lines = [
            "# Processes of their own: what they cost, and what becomes of faults in them",
            "",
            "Written by `python -m tests.bench.apart`, on two cores of an x86 machine that others use too, "
            "at the virtual sound card. Not measured on a Raspberry Pi.",
            "",
            *handed_over(home),
            *costs(home),
            "## Faults",
            "",
            'A process is stopped (it hangs) or ended (it crashed) while a cook says "how much left".',
            "",
            "| process | fault | said, and how long after | heard and answered again | end |",
            "|---|---|---|---|---|",
            *(fault(home, kind, do) for kind in KINDS for do in (hang, crash)),
            "",
            "## The end",
            "",
            "| signal | when | runs | exit status | longest (s) | processes left |",
            "|---|---|---|---|---|---|",
            *(ended_while_hung(home, kind) for kind in KINDS),
            *(ended_at_any_moment(home, sent, wanted.times) for sent in ENDING),
            "",
        ]
    text = "\n".join(lines)
    if wanted.out is None:
        print(text)
    else:
        wanted.out.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
