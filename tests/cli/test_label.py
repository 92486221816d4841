"""`crumbcall label` from a journal."""

from tests.cli.conftest import Run

TYPE = ("type", "--clock", "scripted", "--json")
BATCH = ["recipe squid ink", "lot 471", "new batch 1500", "new die linguine", "tray done", "tray done"]


def test_labels_of_a_batch(run: Run) -> None:
    run(*TYPE, lines=BATCH)
    one = run("label", "1", "--tray", "2").out
    assert "batch   1, tray 2" in one
    assert "pasta   linguine, squid ink, raw" in one
    assert "US      contains wheat\n" in one
    assert "molluscs" in one
    every = run("label", "--all").out
    assert (every.count("tray 1"), every.count("tray 2")) == (1, 1)


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
