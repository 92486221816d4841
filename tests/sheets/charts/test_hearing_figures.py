"""How well it hears: hours and bands of noise add up to what was counted."""

from datetime import UTC, datetime, timedelta, timezone

from assistant.journal.heard_counts import Quarter
from assistant.sheets.charts.hearing_figures import heard_figure, noise_figure
from tests.sheets.charts.reading import texts, values
from tests.sheets.words import english

TEN = datetime(2026, 3, 10, 10, tzinfo=UTC).timestamp()


def quarter(start: float, noise: float | None = -40.0, **counts: tuple[int, ...]) -> Quarter:
    """A quarter of an hour."""
    return Quarter(start, True, noise, counts)


DAY = [
    quarter(TEN, acted=(0, 1, 2, 3, 0), left_alone=(1, 0, 0, 0, 0)),
    quarter(TEN + 900, -30.0, acted=(0, 0, 0, 4, 0), asked=(1, 0, 0, 0, 0)),
    quarter(TEN + 3600, None, not_understood=(0, 0, 0, 0, 2)),
]


def test_circles_are_the_counts_of_an_hour() -> None:
    figure = heard_figure(DAY, english(), UTC)
    found = {(one["hour"], one["became"]): one["count"] for one in values(figure, "circle")}
    assert found == {
        (10.5, "acted at once"): 10,
        (10.5, "asked first"): 1,
        (10.5, "left alone"): 1,
        (11.5, "said it did not understand"): 2,
    }
    assert sorted(texts(figure)) == ["1", "1", "10", "2"]
    assert figure.table.rows == (
        ("10:00", "10", "1", "0", "1", "-35.0"),
        ("11:00", "0", "0", "2", "0", "-"),
    )


def test_hours_are_the_kitchens() -> None:
    figure = heard_figure(DAY, english(), timezone(timedelta(hours=2)))
    assert [row[0] for row in figure.table.rows] == ["12:00", "13:00"]


def test_the_share_understood_by_how_far_speech_stood_above_the_noise() -> None:
    table = noise_figure(DAY, english(), UTC).table
    assert table.rows == (
        ("under 6 dB", "0", "1", "0", "1", "50 %"),
        ("6 to 12 dB", "1", "0", "0", "0", "100 %"),
        ("12 to 18 dB", "2", "0", "0", "0", "100 %"),
        ("18 dB and more", "7", "0", "0", "0", "100 %"),
        ("not known", "0", "0", "2", "0", "0 %"),
    )


def test_a_quarter_whose_noise_is_not_known_has_no_point() -> None:
    assert [one["level"] for one in values(noise_figure(DAY, english(), UTC), "drop")] == [-40.0, -30.0]


def test_a_day_without_anything_is_empty() -> None:
    assert heard_figure([], english(), UTC).empty
    assert noise_figure([], english(), UTC).empty
