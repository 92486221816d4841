"""Labels and sheets as files and out of a printer: a device file gets what the ESC/POS library sends."""

import json
import os
import re
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from assistant.app.paper.documents import Documents
from assistant.app.paper.print_apart import Job, PrintApart
from assistant.app.paper.served import ServedPaper
from assistant.clock import RealClock
from assistant.config.home import Home
from assistant.sheets.day_account import day_of
from tests.cli.conftest import Run
from tests.devices.printer.test_escpos import read_back

TYPE = ("type", "--clock", "scripted", "--json")
BATCH = ["lot 471", "new batch 1500", "water 330", "new die linguine", "tray done", "tray done", "portions 8"]


def settings(tmp_path: Path, *lines: str) -> Path:
    """A printer that is a file; gives the file."""
    home, printer = tmp_path / "home", tmp_path / "lp0"
    home.mkdir(exist_ok=True)
    text = ["[printer]", 'kind = "file"', f'address = "{printer}"', 'label = "roll-80"', *lines]
    (home / "settings.toml").write_text("\n".join(text) + "\n", encoding="utf-8")
    return printer


def keys(out: str) -> list[str]:
    return [reply["key"] for line in out.splitlines() for reply in json.loads(line)["replies"]]


def pages(file: Path) -> int:
    document = pypdfium2.PdfDocument(file.read_bytes())
    try:
        return len(document)
    finally:
        document.close()


def test_what_the_printer_gets_is_the_picture_that_the_file_has(run: Run, tmp_path: Path) -> None:
    printer = settings(tmp_path)
    run(*TYPE, lines=BATCH)
    assert run("label", "--tray", "2", "--print").out == "1 printed.\n"
    (sent,) = read_back(printer.read_bytes())
    picture = tmp_path / "label.png"
    assert run("label", "--tray", "2", "--out", str(picture)).out == f"{picture} written.\n"
    with Image.open(picture) as found:
        dots = ~np.asarray(found)
    assert np.array_equal(sent[:, : dots.shape[1]], dots)


def test_what_is_said_is_printed_and_what_fails_is_kept_until_it_is_said_again(
    run: Run, tmp_path: Path
) -> None:
    printer = settings(tmp_path)
    printer.mkdir()  # nothing can be written to it
    out = run(*TYPE, lines=[*BATCH, "print label"]).out
    assert keys(out)[-2:] == ["print_label", "print_failed_printer"]
    printer.rmdir()
    out = run(*TYPE, lines=["print again"]).out
    assert "print_waits" in keys(out)
    assert keys(out)[-1] == "print_again"
    assert len(list(read_back(printer.read_bytes()))) == 1
    assert keys(run(*TYPE, lines=["print labels", "print again"]).out)[-2:] == [
        "print_labels",
        "print_none_kept",
    ]
    assert len(list(read_back(printer.read_bytes()))) == 2


def test_an_allergen_that_is_not_known_keeps_the_label(run: Run, tmp_path: Path) -> None:
    settings(tmp_path)
    folder = tmp_path / "home" / "recipes"
    folder.mkdir()
    recipe = 'name = "garden"\n[flour]\nsemolina = 100\n[wet]\n"nettle pesto" = 5\n'
    (folder / "garden.toml").write_text(recipe, encoding="utf-8")
    (tmp_path / "home" / "ingredients.csv").write_text("name,water_g_per_100g\nnettle pesto,60\n")
    out = run(*TYPE, lines=["recipe garden", "new batch 1000", "tray done", "print label"]).out
    assert keys(out)[-1] == "print_failed_allergens"
    run("allergens", "nettle pesto", "milk")
    assert keys(run(*TYPE, lines=["print again"]).out)[-1] == "print_again"


def test_without_a_printer_it_is_said_what_to_write(run: Run) -> None:
    assert keys(run(*TYPE, lines=[*BATCH, "print label"]).out)[-1] == "print_no_printer"
    ran = run("label", "--print")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err == (
        'crumbcall: no printer is set; write [printer] kind = "usb", "network", "serial", "file" or "cups" '
        "and its address into settings.toml.\n"
    )
    assert "[printer] sheets" in run("sheet", "--print").err


@pytest.mark.parametrize(
    ("lines", "line"),
    [
        (
            ("dots_across = 64",),
            "[printer] dots_across = 64, allowed is a whole number from 128 to 4096 dots",
        ),
        (('kind = "usb"',), 'kind = "usb" and address = "/'),
        (('sheets = "-o raw"',), '[printer] sheets = "-o raw", allowed is a queue as lpstat -p lists it'),
        (('kind = "usbb"',), '[printer] kind = "usbb", allowed is "cups" or "file" or "network" or "none"'),
    ],
)
def test_a_wrong_setting_of_the_printer_is_one_clear_line(
    run: Run, tmp_path: Path, lines: tuple[str, ...], line: str
) -> None:
    settings(tmp_path)
    file = tmp_path / "home" / "settings.toml"
    kept = [one for one in file.read_text().splitlines() if one.split(" ")[0] != lines[0].split(" ")[0]]
    file.write_text("\n".join([*kept, *lines]) + "\n", encoding="utf-8")
    ran = run("label")
    assert (ran.status, ran.err.count("\n")) == (2, 1)
    assert line in ran.err


def test_a_label_and_a_sheet_become_files_of_the_kind_of_their_name(run: Run, tmp_path: Path) -> None:
    run(*TYPE, lines=[*BATCH, "close batch", "yes"])
    for kind in ("pdf", "html", "png"):
        assert run("label", "--all", "--out", str(tmp_path / f"l.{kind}")).status == 0
    assert pages(tmp_path / "l.pdf") == 2
    assert (tmp_path / "l-2.png").read_bytes().startswith(b"\x89PNG")
    assert (tmp_path / "paper.css").is_file()
    for name in ("s.pdf", "s.html", "s.md", "s.txt"):
        assert run("sheet", "1", "--out", str(tmp_path / name)).status == 0
    assert pages(tmp_path / "s.pdf") == 1
    assert (tmp_path / "s.md").read_text().startswith("# Batch 1\n")
    assert (tmp_path / "s.txt").read_text().startswith("Batch 1\n")
    assert run("sheet", "--day", "--out", str(tmp_path / "d.pdf")).status == 0
    assert pages(tmp_path / "d.pdf") == 1
    preview = run("label", "--preview").out.removesuffix(" written.\n")
    assert 'rel="stylesheet" href="paper.css"' in Path(preview).read_text()
    assert (Path(preview).parent / "paper.css").is_file()


def test_the_page_is_in_the_language_of_the_station(run: Run, tmp_path: Path) -> None:
    run(*TYPE, lines=BATCH)
    (tmp_path / "home" / "settings.toml").write_text('[station]\nlanguage = "it"\n', encoding="utf-8")
    run("sheet", "1", "--out", str(tmp_path / "s.html"))
    run("sheet", "--day", "--out", str(tmp_path / "d.html"))
    assert '<html lang="it">' in (tmp_path / "s.html").read_text()
    assert "Raffreddamento" in (tmp_path / "d.html").read_text()


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (("label", "--print", "--preview"), "--print, --preview and --out: one of them is allowed"),
        (("label", "--size", "57x32"), "--size is for --print, --preview and --out"),
        (("label", "--out", "label.gif"), "label.gif: allowed are .pdf, .png and .html"),
        (("label", "--out", "/nowhere/l.pdf"), "/nowhere/l.pdf can't be written (No such file"),
        (("sheet", "--print", "--markdown"), "--print is for paper; leave --markdown and --out out."),
        (("sheet", "--markdown", "--out", "s.pdf"), "s.pdf: a page is no Markdown"),
        (("sheet", "--day", "--date", "2026-03-02"), "--date is for --day with --print, or --out"),
    ],
)
def test_what_can_not_be_meant_is_one_clear_line(run: Run, arguments: tuple[str, ...], line: str) -> None:
    run(*TYPE, lines=BATCH)
    ran = run(*arguments)
    assert (ran.status, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert line in ran.err


def test_a_server_gets_the_same_pages_with_its_own_address_of_the_style_sheet(
    run: Run, tmp_path: Path
) -> None:
    run(*TYPE, lines=BATCH)
    served = ServedPaper(Documents.of(Home.find(tmp_path / "home")), "/static/paper.css")
    found = [served.sheet(), served.sheet(1), served.labels(1), served.day(day_of(RealClock().wall()))]
    for html in found:
        assert '<link rel="stylesheet" href="/static/paper.css">' in html
        assert "<style" not in html
        assert "style=" not in html
    assert found[0] == found[1]
    assert found[2].count("<section") == 2


def test_a_printer_that_hangs_is_given_up_and_its_process_ended(run: Run, tmp_path: Path) -> None:
    printer = settings(tmp_path)
    run(*TYPE, lines=BATCH)
    os.mkfifo(printer)  # whoever opens it waits for a reader that never comes
    home = str(tmp_path / "home")
    ended = PrintApart(0.2, starting_s=0.0)(Job(home, home, "label", 1, 1))
    assert ended.failure == "printer"
    assert ended.line == "the printer did not take it within 0.2 s; see that it is ready."


def test_what_ends_without_an_answer_is_told_as_that(run: Run, tmp_path: Path) -> None:
    settings(tmp_path)
    run(*TYPE, lines=BATCH)
    home = str(tmp_path / "home")
    broken = Job(home, home, "label", 1, size="no such size")
    ended = PrintApart(60.0)(broken)
    assert ended.failure == "paper"
    assert "\n" not in ended.line


def test_sheet_and_label_say_who_and_where_and_are_set_on_the_kitchens_paper(
    run: Run, tmp_path: Path
) -> None:
    settings(
        tmp_path,
        'paper = "letter"',
        "[station]",
        'id = "Pass two"',
        "[label]",
        'maker = "Hotel Example, 1 Mill Lane"',
    )
    run(*TYPE, lines=BATCH)
    assert "station:" in run("sheet").out
    assert "Pass two" in run("sheet").out
    assert re.search(r"^station +Pass two$", run("sheet", "--day").out, re.MULTILINE)
    run("sheet", "--day", "--out", str(tmp_path / "day.html"))
    assert "<dt>station</dt><dd>Pass two</dd>" in (tmp_path / "day.html").read_text(encoding="utf-8")
    assert run("label", "--tray", "1").out.rstrip().endswith("Hotel Example, 1 Mill Lane")
    file = tmp_path / "sheet.pdf"
    run("sheet", "--out", str(file))
    document = pypdfium2.PdfDocument(file.read_bytes())
    width, height = document[0].get_size()  # points: 8.5 by 11 inches
    document.close()
    assert (round(width), round(height)) == (612, 792)
