"""Flour lots as a kitchen writes them down, and what is wrong with one."""

from datetime import date
from pathlib import Path

import pytest

from assistant.config.flour_lots import StockedLot, read_stock
from assistant.errors import SettingsError


def test_lots_are_read_by_name(tmp_path: Path) -> None:
    file = tmp_path / "lots.toml"
    file.write_text(
        '[12]\nsupplier = "M-04"\nreceived = 2026-03-02\nmoisture_pct = 13\n[7]\n', encoding="utf-8"
    )
    assert read_stock(file) == {
        "12": StockedLot(supplier="M-04", received=date(2026, 3, 2), moisture_pct=13.0),
        "7": StockedLot(),
    }


@pytest.mark.parametrize(
    ("written", "size_um"),
    [
        ('granulation = "coarse"', 500.0),
        ('granulation = "fine"', 200.0),
        ("grain_um = 410.5", 410.5),
        ("", None),
    ],
)
def test_granulation_is_a_word_or_micrometres(tmp_path: Path, written: str, size_um: float | None) -> None:
    file = tmp_path / "lots.toml"
    file.write_text(f"[12]\n{written}\n", encoding="utf-8")
    assert read_stock(file)["12"].size_um == size_um


def test_a_lot_with_letters_is_kept_as_it_is_said(tmp_path: Path) -> None:
    file = tmp_path / "lots.toml"
    file.write_text('["b-12"]\n["Red Bag"]\n["0471"]\n', encoding="utf-8")
    assert list(read_stock(file)) == ["B12", "red bag", "0471"]
    file.write_text('["b-12"]\n[B12]\n', encoding="utf-8")
    with pytest.raises(SettingsError, match=r"B12 is lot B12, which is there already; remove one\."):
        read_stock(file)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "[12]\nmoisture_pct = 140\n",
            ": [12] moisture_pct = 140, allowed is a number from 5 to 20 %; change it, or remove the line.",
        ),
        (
            '[12]\nreceived = "March"\n',
            ': [12] received = "March", allowed is a date, as 2026-03-02; change it, or remove the line.',
        ),
        (
            '[12]\nsuplier = "x"\n',
            ': [12] has no key "suplier"; did you mean supplier? Write that, or remove it.',
        ),
        (
            '[12]\nflour = ""\n',
            ': [12] flour = "", allowed is text in quotes, 1 to 40 letters; change it, or remove the '
            'line to get "flour".',
        ),
        (
            '[12]\ngranulation = "gritty"\n',
            ': [12] granulation = "gritty", allowed is "coarse" or "fine" or "medium"; change it, or remove '
            "the line.",
        ),
        (
            "[12]\ngrain_um = 5\n",
            ": [12] grain_um = 5, allowed is a number from 50 to 1000 µm; change it, or remove the line.",
        ),
        (
            '[12]\ngranulation = "fine"\ngrain_um = 300\n',
            ': [12] granulation = "fine" is said by grain_um = 300 too; remove one of them.',
        ),
        ("12 = 5\n", ": 12 = 5 is not a section; write [12] on a line of its own, its keys below."),
        (
            "[12]\nreceived = 2026-03-02\nbest_before = 2026-01-02\n",
            ": [12] best_before = 2026-01-02 is before received = 2026-03-02; exchange or change them.",
        ),
        (
            "[12\n",
            " is not TOML: Expected ']' at the end of a table declaration (at line 1, column 4); mend it, or "
            "move it away.",
        ),
    ],
)
def test_a_wrong_lot_is_refused_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "lots.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        read_stock(file)
    assert str(caught.value) == f"{file}{said}"


def test_no_file_is_no_error(tmp_path: Path) -> None:
    assert read_stock(tmp_path / "lots.toml") == {}
