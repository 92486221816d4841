"""`crumbcall label` from a journal."""

from pathlib import Path

import pytest

from tests.cli.conftest import Run

TYPE = ("type", "--clock", "scripted", "--json")
BATCH = ["recipe squid ink", "lot 471", "new batch 1500", "new die linguine", "tray done", "tray done"]


def test_labels_of_a_batch(run: Run) -> None:
    run(*TYPE, lines=BATCH)
    one = run("label", "1", "--tray", "2", "--weight", "740", "--portions", "7").out
    assert one.startswith(
        "linguine, squid ink, raw\ntray 2, batch 1, lot 471\nweight    740 g\nportions  7\n"
    )
    assert "EU, UK    contains gluten (wheat), molluscs\nUS        contains wheat\n" in one
    every = run("label", "--all").out
    assert (every.count("tray 1"), every.count("tray 2")) == (1, 1)
    assert run("label", "--all", "--weight", "5").err == (
        "crumbcall: --all is for every tray, --weight and --portions for one; give --tray and one of them.\n"
    )


def test_the_list_of_one_region_is_printed_where_the_kitchen_wants_one(run: Run, tmp_path: Path) -> None:
    run(*TYPE, lines=BATCH)
    settings = tmp_path / "home" / "settings.toml"
    settings.write_text('[label]\nallergen_list = "eu"\n', encoding="utf-8")
    assert "US  " not in run("label").out
    settings.write_text('[label]\nallergen_list = "uk"\n', encoding="utf-8")
    assert run("label").err == (
        f'crumbcall: {settings}: [label] allergen_list = "uk", allowed is "both" or "eu" or "us"; change it, '
        'or remove the line to get "both".\n'
    )


def own_recipe(tmp_path: Path, *lines: str) -> None:
    folder = tmp_path / "home" / "recipes"
    folder.mkdir(parents=True, exist_ok=True)
    text = "\n".join(('name = "garden"', *lines))
    (folder / "garden.toml").write_text(text, encoding="utf-8")
    (tmp_path / "home" / "ingredients.csv").write_text("name,water_g_per_100g\nnettle pesto,60\n")


def test_a_label_waits_until_the_allergens_of_an_own_name_are_said_once(run: Run, tmp_path: Path) -> None:
    own_recipe(tmp_path, "[flour]", "semolina = 100", "[wet]", '"nettle pesto" = 5')
    run(*TYPE, lines=["recipe garden", "new batch 1000"])
    ran = run("label")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err == (
        'crumbcall: no label: the allergens of "nettle pesto" are not known; read the packet, then crumbcall '
        'allergens "nettle pesto" ALLERGENS, with "none" for none.\n'
    )
    assert "nettle pesto: not known." in run("allergens").out
    assert "Not known of: nettle pesto" in run("dough", "recipe", "garden").out
    assert "Allergens not known: nettle pesto" in run("sheet").out
    said = run("allergens", "nettle pesto", "milk", "nuts:pine nut")
    assert said.out == "nettle pesto: EU, UK: milk; US: milk, nuts (pine nut).\n"
    assert "US        contains wheat, milk, tree nuts (pine nut)" in run("label").out
    assert "EU, UK    contains gluten (wheat), milk\n" in run("label").out
    assert "Not known" not in run("dough", "recipe", "garden").out
    run("allergens", "nettle pesto", "--forget")
    assert run("label").status == 2


def test_a_label_waits_for_the_kind_that_the_list_wants(run: Run, tmp_path: Path) -> None:
    own_recipe(tmp_path, 'allergens = ["nuts"]', "[flour]", "semolina = 100", "[wet]", '"fish roe" = 5')
    run(*TYPE, lines=["recipe garden", "new batch 1000"])
    assert run("label").err == (
        'crumbcall: no label: of "fish roe" the kind of fish is not known, which the list wants; say it with '
        'crumbcall allergens "fish roe" ALLERGENS, as fish:cod.\n'
    )
    run("allergens", "fish roe", "fish:trout")
    assert run("label").err == (
        'crumbcall: no label: the recipe "garden" names nuts without the kind, which the list wants; '
        'write it in the recipe\'s file, as allergens = ["nuts:almond"].\n'
    )
    own_recipe(
        tmp_path, 'allergens = ["nuts:walnut"]', "[flour]", "semolina = 100", "[wet]", '"fish roe" = 5'
    )
    assert "US        contains wheat, fish (trout), tree nuts (walnut)" in run("label").out


@pytest.mark.parametrize(
    ("said", "line"),
    [
        (("x", "almond"), 'the allergens have "almond"; write "nuts:almond" instead.'),
        (("x", "none", "egg"), '"none" stands alone, and here with none, egg; give one or the other.'),
        (
            ("eggs", "none"),
            '"eggs" is egg by its name, and its allergens lack that; add it, or give what goes in another '
            "name.",
        ),
        (("x", "egg", "--forget"), "--forget takes the name alone; leave the allergens or --forget out."),
        ((" ", "egg"), '" " is not a name; write 1 to 40 signs, as the recipe does.'),
    ],
)
def test_allergens_that_can_not_be_kept_are_one_clear_line(
    run: Run, said: tuple[str, ...], line: str
) -> None:
    ran = run("allergens", *said)
    assert (ran.status, ran.out, ran.err) == (2, "", f"crumbcall: {line}\n")


def test_what_is_easily_missed_and_what_a_packet_often_has_is_told(run: Run) -> None:
    assert run("allergens").out == "Of all that the kitchen uses the allergens are known.\n"
    assert "neither list" in run("allergens", "sea urchin roe").out
    assert "Often in it: fish, shrimp" in run("allergens", "kimchi").out


def test_a_tray_that_was_not_filled_is_refused(run: Run) -> None:
    run(*TYPE, lines=BATCH)
    ran = run("label", "--tray", "3")
    assert (ran.status, ran.err) == (
        2,
        "crumbcall: batch 1 has 2 trays, not 3; say tray done for each, or leave --tray out.\n",
    )


def test_no_batch_no_label(run: Run) -> None:
    run(*TYPE, lines=[])
    ran = run("label")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.count("\n") == 1
