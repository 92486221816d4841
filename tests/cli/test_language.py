"""A home whose settings name a language: what is said, and what the program says of what it hears."""

import wave
from pathlib import Path

import pytest

from tests.cli.conftest import Run

NOTE = "The built-in recogniser hears English commands; replies are Italian."


@pytest.fixture
def home(tmp_path: Path) -> Path:
    folder = tmp_path / "home"
    folder.mkdir()
    return folder


def speak(home: Path, language: str, more: str = "") -> None:
    (home / "settings.toml").write_text(f'[station]\nlanguage = "{language}"\n{more}', encoding="utf-8")


def silence(path: Path) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16_000)
        file.writeframes(b"\0\0" * 8_000)
    return path


def said(run: Run, *lines: str) -> list[str]:
    ran = run("type", "--clock", "scripted", "--json", lines=list(lines))
    assert ran.status == 0, ran.err
    return [reply["text"] for turn in ran.objects for reply in turn["replies"]]


def test_a_batch_is_answered_in_italian(run: Run, home: Path) -> None:
    speak(home, "it")
    # 1500 g at 31 % take 465 g; high is 33 % of 1500 = 495 g, so that 200 after 330 are 35 g past it.
    assert said(
        run, "new batch 1500", "water 330", "mix two minutes", "+2m", "got it", "water 200", "no"
    ) == [
        "Un chilo e mezzo: quattrocentosessantacinque d'acqua.",
        "Prima versa trecentotrenta.",
        "Trecentotrenta dentro.",
        "Impasta, poi spegni, stacca la spina e stringi.",
        "Impasto, due minuti.",
        "Trenta secondi alla prova delle briciole.",
        "Tempo d'impasto finito. Spenta e spina staccata, poi stringi.",
        "Timer dell'impasto fermo. La macchina la spegni tu.",
        "Trentacinque di troppo: segno duecento?",
        "Non segnato.",
    ]


def test_a_walk_through_is_walked_in_italian_by_its_english_name(run: Run, home: Path) -> None:
    speak(home, "it")
    assert said(run, "die change", "leave it") == [
        "Torna su impasto, poi spegni e stacca la spina, mani fuori: sei tu che spegni.",
        "In sospeso: cambio trafila. Ridillo per andare avanti.",
    ]


def test_a_kitchens_own_language_says_its_words_and_figures(run: Run, home: Path) -> None:
    speak(home, "de")
    own = home / "grammar" / "de"
    own.mkdir(parents=True)
    (own / "replies.toml").write_text('water_in = "{grams:mass} drin."\n', encoding="utf-8")
    assert said(run, "new batch 1500", "water 150")[2:4] == ["150 drin.", "315 left."]


def test_listen_says_first_which_language_it_hears(run: Run, home: Path, tmp_path: Path) -> None:
    speak(home, "it")
    ran = run("listen", "--from", str(silence(tmp_path / "silence.wav")))
    assert (ran.status, ran.err.splitlines()[0]) == (0, NOTE)


def test_an_english_kitchen_is_told_nothing_of_languages(run: Run, tmp_path: Path) -> None:
    assert run("listen", "--from", str(silence(tmp_path / "silence.wav"))).err == ""
    assert "language" not in run("check").out


def test_check_says_which_language_is_heard(run: Run, home: Path) -> None:
    speak(home, "it")
    assert f"works   language: {NOTE}" in run("check").out.splitlines()


def test_a_language_without_a_folder_is_one_clear_line(run: Run, home: Path) -> None:
    speak(home, "xx")
    ran = run("type", lines=[])
    assert (ran.status, ran.out) == (2, "")
    assert '[station] language = "xx", allowed is "en" or "it"' in ran.err
