"""How long real people pause within what they say: `python -m tests.bench.pauses [--most N]`.

A command that could go on is decided on after `[microphone] open_silence_s` of quiet, one that can't after
`closed_silence_s`, anything else after `end_silence_s`: who pauses longer between two words has said the
first part alone. Quiet is what the endpointer calls so. Nobody here cooks: readers, and people who say a
telephone number or spell a name, who pause between groups on purpose.
"""

import argparse
from collections.abc import Iterator, Sequence

from assistant.config.station_settings import MicrophoneSettings
from assistant.hearing.endpointing import CHUNK, Endpointing, SpeechEndpointer
from assistant.ports import Pcm
from tests.bench.ear.people import LONGEST_S, MANDARIN, READERS, Spoken, anybody, sampled
from tests.bench.hearing.intervals import Share
from tests.bench.hearing.real import MISSING, speech_folder

LONG_S = 3.0
"""Quiet that ends a recording: no pause in it counts."""
STEPS = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7)


def pauses(pcm: Pcm) -> Iterator[float]:
    """Seconds of each quiet after which the same speaker goes on."""
    endpointer = SpeechEndpointer(Endpointing(end_silence_s=LONG_S, max_utterance_s=2 * LONGEST_S))
    before = 0.0
    for begin in range(0, len(pcm), CHUNK):
        endpointer.feed(pcm[begin : begin + CHUNK])
        if before > endpointer.quiet_s:
            yield before
        before = endpointer.quiet_s


def row(name: str, said: Sequence[Spoken]) -> str:
    """Of the gaps between words, the share with at least so much quiet."""
    longer = dict.fromkeys(STEPS, 0)
    gaps = 0
    for one in said:
        gaps += len(one.text.split()) - 1
        for pause in pauses(one.pcm()):
            for step in STEPS:
                longer[step] += pause >= step
    shares = [str(Share(longer[step], gaps)) for step in STEPS]
    speakers = len({one.speaker for one in said})
    return f"| {name} | {speakers} | {len(said)} | {gaps} | {' | '.join(shares)} |"


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--most", type=int, default=300, help="recordings of a kind")
    most = parser.parse_args().most
    speech = speech_folder()
    if speech is None:
        parser.error(MISSING)
    everyone = [one for one in anybody(speech, ("train", "dev", "test")) if one.seconds <= LONGEST_S]
    sentences = [one for one in everyone if one.kind == "sentence"]
    groups = {
        f"sentences, {who}": [one for one in sentences if one.group == who] for who in (READERS, MANDARIN)
    }
    groups["telephone numbers"] = [one for one in everyone if one.kind == "phone_number"]
    groups["spelled names"] = [one for one in everyone if one.kind == "spelled_name"]
    wanted = MicrophoneSettings()
    print(
        f"Waits: {wanted.closed_silence_s} s (can't go on), {wanted.open_silence_s} (could), "
        f"{wanted.end_silence_s} (anything). Gaps between words with at least so much quiet, %:\n"
    )
    print("| who | speakers | recordings | gaps | " + " | ".join(f">= {step} s" for step in STEPS) + " |")
    print("|---" * (4 + len(STEPS)) + "|")
    for name, said in groups.items():
        print(row(name, sampled(said, most, name)), flush=True)


if __name__ == "__main__":
    main()
