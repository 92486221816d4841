"""`crumbcall card`: as text, as a page, in the station's language."""

from pathlib import Path

from tests.cli.conftest import Run


def test_the_card_as_text(run: Run) -> None:
    ran = run("card")
    assert ran.status == 0
    assert "  mix · mix two minutes" in ran.out
    assert ran.out.index("\nBegin\n") < ran.out.index("\nWater\n") < ran.out.index("\nOut of the die\n")


def test_the_card_as_a_page(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "card.pdf"
    ran = run("card", "--out", str(file))
    assert (ran.status, ran.out) == (0, f"{file} written.\n")
    assert file.read_bytes().startswith(b"%PDF")


def test_a_kind_of_file_that_there_is_none_of_is_one_line(run: Run, tmp_path: Path) -> None:
    ran = run("card", "--out", str(tmp_path / "card.svg"))
    assert (ran.status, ran.out) == (2, "")
    assert "the card is written as .pdf, .png, .html" in ran.err
    assert ran.err.count("\n") == 1


def test_an_italian_kitchen_has_italian_headings_over_english_commands(run: Run, tmp_path: Path) -> None:
    settings = tmp_path / "home" / "settings.toml"
    settings.parent.mkdir(exist_ok=True)
    settings.write_text('[station]\nlanguage = "it"\n', "utf-8")
    out = run("card").out
    assert "\nAcqua\n" in out
    assert "poured the rest" in out


def test_a_place_that_can_not_be_written_is_one_line(run: Run, tmp_path: Path) -> None:
    ran = run("card", "--out", str(tmp_path / "none" / "card.pdf"))
    assert (ran.status, ran.out) == (2, "")
    assert "can't be written" in ran.err
    assert ran.err.count("\n") == 1


def test_a_kitchens_card_with_a_heading_that_there_is_none_of_is_one_line(run: Run, tmp_path: Path) -> None:
    own = tmp_path / "home" / "grammar" / "en" / "card.toml"
    own.parent.mkdir(parents=True)
    own.write_text('[[group]]\nname = "oven"\nrules = ["mix"]\n', "utf-8")
    ran = run("card")
    assert (ran.status, ran.out) == (2, "")
    assert "oven" in ran.err
    assert ran.err.count("\n") == 1
