"""How a word may sound that no file has: by the library's network, and by espeak-ng's rules.

Two letter-to-sound systems that know nothing of each other are wrong about different words, and a name of
a dish is said by its own language as often as by the cook's. All their spellings count: what was said is
for the search to find out.
"""

import re
import subprocess
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from assistant.asr.phones import FOREIGN, PHONES, english, without_accents

Way = tuple[str, ...]
"""Phones of a word in the network's symbols."""
Rules = Callable[[Sequence[str]], list[list[Way]]]
"""Words -> ways to say each; no way where it has none."""
Transcribe = Callable[[str, str], str]
"""Words, one a line with a full stop each, and a voice of espeak-ng -> IPA, a line a word; "" on failure."""

VOICES = ("en-us", "en-gb-x-rp", "it")
TIMEOUT_S = 30.0

_PHONES = sorted({*PHONES, *FOREIGN, "tʃ", "dʒ", "əʊ"}, key=len, reverse=True)
_PHONE = re.compile("|".join(map(re.escape, _PHONES)))
_AS_WRITTEN = {"tʃ": "t͡ʃ", "dʒ": "d͡ʒ", "əʊ": "oʊ"}
"""Signs of espeak-ng for one phone, as the network has it."""


class Guesses:
    """Ways to say words by all of several rules; each word is asked for once."""

    def __init__(self, *rules: Rules) -> None:
        self._rules = rules
        self._known: dict[str, list[Way]] = {}

    def __call__(self, words: Sequence[str]) -> list[list[Way]]:
        """Ways to say each word, those of the first rules first; none where nobody can say it."""
        new = [word for word in dict.fromkeys(words) if word not in self._known]
        if new:
            found = [rules(new) for rules in self._rules]
            for place, word in enumerate(new):
                ways = (way for each in found for way in each[place] if way)
                self._known[word] = list(dict.fromkeys(ways))
        return [self._known[word] for word in words]


class LibraryRules:
    """The library's network from letters to phones, loaded when the first word is asked for."""

    def __init__(self) -> None:
        self._model: Any = None

    def __call__(self, words: Sequence[str]) -> list[list[Way]]:
        """Each word in the nearest phones of English and as guessed; one with accents also without them."""
        return [list(self._ways(word)) for word in words]

    def guess(self, word: str) -> Way:
        """Phones of one word as the network writes them."""
        if self._model is None:
            from hama import G2PModel

            self._model = G2PModel()
        found = self._model.predict(word, output_delimiter="")
        # The library writes some foreign words sign by sign, with spaces, and affricates as three signs.
        spelled = " ".join(one.phoneme for one in found.alignments if one.phoneme.strip())
        for apart, together in (("t ͡ ʃ", "t͡ʃ"), ("d ͡ ʒ", "d͡ʒ"), (" ̪", ""), ("\u0261", "g")):
            spelled = spelled.replace(apart, together)
        return tuple(spelled.split())

    def _ways(self, word: str) -> Iterable[Way]:
        for spelling in dict.fromkeys((word, without_accents(word))):
            guess = self.guess(spelling)
            yield from (english(guess), guess)


class EspeakRules:
    """The rules and exceptions of espeak-ng's languages; no way to say anything where it can't be run."""

    def __init__(self, transcribe: Transcribe, voices: Sequence[str] = VOICES) -> None:
        self._transcribe = transcribe
        self._voices = tuple(voices)

    def __call__(self, words: Sequence[str]) -> list[list[Way]]:
        """Each word in the phones of English that are nearest to what each voice says."""
        ways: list[list[Way]] = [[] for _ in words]
        text = "".join(f"{word}.\n" for word in words)
        for voice in self._voices:
            lines = self._transcribe(text, voice).splitlines()
            # Where the lines are not one a word, it is not known which word is said how.
            for way, line in zip(ways, lines if len(lines) == len(words) else (), strict=False):
                way.append(phones_of(line))
        return ways


def phones_of(ipa: str) -> Way:
    """Phones of English nearest to a transcription; marks of stress, length and joins fall away."""
    signs = re.sub("[_ˈˌːˑ‿\\s\\d]", " ", ipa.replace("\u0261", "g"))
    return english(_AS_WRITTEN.get(phone, phone) for phone in _PHONE.findall(signs))


def run_espeak(text: str, voice: str) -> str:
    """What espeak-ng writes of a text; "" without the program."""
    try:
        done = subprocess.run(
            ["espeak-ng", "-q", "--ipa=1", "-v", voice, "--stdin"],
            input=text,
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=TIMEOUT_S,
            check=True,
        )
    except (OSError, subprocess.SubprocessError):
        return ""
    return done.stdout
