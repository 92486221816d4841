"""How well the seconds of a reply are estimated: `python -m tests.bench.spoken_length [--count N]`.

Every announcement in both languages, with the sample values of `tests/nlg/test_languages.py`, is spoken by
espeak-ng at the default pace and held against `assistant.nlg.brevity.seconds_of`.
"""

import argparse
import random

import numpy as np

from assistant.batch.record.announcements import SAYABLE
from assistant.nlg.brevity import seconds_of
from assistant.tts.espeak import EspeakVoice
from tests.nlg.off_first import replies_of
from tests.nlg.test_languages import rendered

SEED = 5


def errors(language: str, count: int) -> list[tuple[float, float, str]]:
    """Error (s, + where the estimate is too long), length (s) and text of replies drawn at random."""
    voice = EspeakVoice(voice=language)
    texts = sorted({text for key in SAYABLE for text in rendered(replies_of(language), key)})
    drawn = random.Random(SEED).sample(texts, min(count, len(texts)))
    spoken = [(voice.speak(text).seconds, text) for text in drawn]
    return [(seconds_of(text) - seconds, seconds, text) for seconds, text in spoken]


def main() -> None:
    """Print the errors of each language."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--count", type=int, default=700, help="replies of each language")
    count = arguments.parse_args().count
    for language in ("en", "it"):
        found = errors(language, count)
        off = np.abs([error for error, _, _ in found])
        worst = min(found)
        print(
            f"{language}: {len(found)} replies, half within {np.median(off):.2f} s, 95 % within"
            f" {np.quantile(off, 0.95):.2f} s; longest over the estimate {-worst[0]:.2f} s ({worst[2]})"
        )
        print(f"    of replies over 4 s: mean {np.mean([e for e, s, _ in found if s > 4]):+.2f} s")


if __name__ == "__main__":
    main()
