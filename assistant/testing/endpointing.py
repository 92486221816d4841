"""Contract check of `ports.Endpointer`."""

import numpy as np

from assistant.ports import Endpointer, Pcm


def check_endpointer(endpointer: Endpointer, speech: Pcm, quiet: Pcm, *, slack_s: float = 0.1) -> None:
    """Hold an endpointer to `ports.Endpointer`; AssertionError says what it breaks.

    `speech`: samples that it takes for speech. `quiet`: samples that it does not, long enough to end an
    utterance. `slack_s`: how far (s) from the samples it may place the speech.
    """
    _nothing_without_speech(endpointer, quiet)
    _an_utterance_ends_in_quiet(endpointer, speech, quiet, slack_s)
    _an_utterance_ends_with_the_stream(endpointer, speech)
    _a_cut_utterance_is_gone(endpointer, speech, quiet)


def _nothing_without_speech(endpointer: Endpointer, quiet: Pcm) -> None:
    before = endpointer.heard_s
    assert endpointer.feed(quiet) == [], "quiet was taken for speech"
    assert endpointer.flush() == [], "flush() made an utterance of quiet"
    assert endpointer.heard_s > before, "heard_s does not follow what is fed"
    assert endpointer.quiet_s == 0.0, "quiet_s counts without an open utterance"
    assert endpointer.pending(0.0) is None, "an utterance is pending without speech"


def _an_utterance_ends_in_quiet(endpointer: Endpointer, speech: Pcm, quiet: Pcm, slack_s: float) -> None:
    kept = speech.copy()
    start = endpointer.heard_s
    assert endpointer.feed(speech) == [], "an utterance ended while speech went on"
    end = endpointer.heard_s
    assert endpointer.pending(1e9) is None, "an utterance is pending before it was quiet long enough"
    step = max(1, len(quiet) // 32)
    found = []
    for at in range(0, len(quiet), step):
        found += endpointer.feed(quiet[at : at + step])
        if not found and endpointer.quiet_s > 0:
            pending = endpointer.pending(endpointer.quiet_s)
            assert pending is not None, "nothing is pending though it was quiet for as long as asked"
            assert abs(pending.start - start) <= slack_s, (
                f"speech of {start} s is pending at {pending.start} s"
            )
    (utterance,) = found
    assert abs(utterance.start - start) <= slack_s, f"speech of {start} s was found at {utterance.start} s"
    assert abs(utterance.end - end) <= slack_s, f"speech up to {end} s ends at {utterance.end} s"
    assert utterance.sound.pcm.dtype == np.int16
    assert utterance.sound.seconds >= utterance.end - utterance.start - slack_s, "its sound is cut short"
    assert endpointer.pending(0.0) is None, "an utterance that ended is still pending"
    assert np.array_equal(speech, kept), "an endpointer must not write into the sound"


def _an_utterance_ends_with_the_stream(endpointer: Endpointer, speech: Pcm) -> None:
    assert endpointer.feed(speech) == []
    assert len(endpointer.flush()) == 1, "flush() lost the open utterance"
    assert endpointer.flush() == [], "flush() returned an utterance twice"


def _a_cut_utterance_is_gone(endpointer: Endpointer, speech: Pcm, quiet: Pcm) -> None:
    assert endpointer.feed(speech) == []
    endpointer.cut()
    endpointer.cut()
    assert endpointer.feed(quiet) == [], "an utterance that was cut came again"
    assert endpointer.flush() == [], "flush() returned an utterance that was cut"
