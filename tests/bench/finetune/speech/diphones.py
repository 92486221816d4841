"""Festival's British diphone voices, rab and don (University of Edinburgh, free for any use).

Without the lexicon that they ask for, which is for non-commercial use only: every word gets its sounds here,
from espeak-ng's IPA.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from tests.bench.finetune.speech import accents

BRITISH = ("rab_diphone", "don_diphone")
LEXICON = (
    "(require 'mrpa_phones)",
    "(define (setup_oald_lex) t)",
    '(lex.create "oald")',  # the name that the voices select
    '(lex.set.phoneset "mrpa")',
    "(PhoneSet.select 'mrpa)",
    # Or unstressed vowels become schwa, that of "eighty" too.
    "(set! postlex_vowel_reduce_table nil)",
)
"""Commands that festival gets before it loads a voice."""
VARIED = 0.6
"""Share of number twins that are said in one of several ways."""
_LONG_TEEN, _TY = ("t", "ii", "n"), ("t", "i")
_DIPHTHONGS = frozenset({"ei", "ai", "oi", "au", "ou", "e@", "i@", "u@"})


def entries(text: str, ipa: Callable[[str], str], rng: Random) -> list[str]:
    """Commands that festival gets before it says a text: one lexicon entry a word, the newest counts."""
    return [
        f'(lex.add.entry (list "{word}" nil (lex.syllabify.phstress \'({" ".join(phones(ipa(word), rng))}))))'
        for word in dict.fromkeys(text.split())
    ]


def phones(ipa: str, rng: Random) -> list[str]:
    """Phones of a word of espeak-ng's IPA, a digit of stress after each vowel.

    Twins are now and then said otherwise: -teen stressed at its end, -ty with a d, or none after an n, short
    or long.
    """
    found, stress = accents.split(ipa, accents.british())
    sounds = [part for sound in found for part in sound.split("_")]
    vary = rng.random() < VARIED
    if vary and tuple(sounds[-3:]) == _LONG_TEEN and len(sounds) > 4:
        stress = len(sounds) - 2 if rng.random() < 0.5 else stress
    elif vary and tuple(sounds[-2:]) == _TY and len(sounds) > 2:
        ending = rng.choice(["t", "d", "" if sounds[-3] == "n" else "t"])
        sounds[-2:] = [*([ending] if ending else []), rng.choice(["i", "ii"])]
    # Stress goes to the first vowel from its mark on.
    vowels = [place for place, sound in enumerate(sounds) if _vowel(sound)]
    strong = next((place for place in vowels if place >= stress), -1) if stress >= 0 else -1
    return [
        sound + ("1" if place == strong else "0") if _vowel(sound) else sound
        for place, sound in enumerate(sounds)
    ]


def _vowel(sound: str) -> bool:
    return sound in _DIPHTHONGS or sound[0] in "aeiou@"
