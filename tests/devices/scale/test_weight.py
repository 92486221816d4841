from pathlib import Path

import pytest

from assistant.devices.scale.samples import read_samples, sample_lines
from assistant.devices.scale.weight import Calibration, load_calibration, save_calibration, spread, two_points
from assistant.errors import DeviceError

KNOWN = Calibration(zero=84_000, counts_per_gram=420.5, mass_g=1800, noise_g=0.4, made_at=1.5, note="18 C")


def test_a_line_through_two_points() -> None:
    made = two_points([999, 1000, 1001], [361_000, 361_010, 360_990], 1800, made_at=1.5, note="18 C")
    assert made == Calibration(
        zero=1000.0, counts_per_gram=200.0, mass_g=1800, noise_g=0.1, made_at=1.5, note="18 C"
    )
    assert made.grams(1000) == 0
    assert made.grams(361_000) == 1800
    assert made.grams(-999_000) == -5000


def test_a_cell_that_is_mounted_upside_down_weighs_all_the_same() -> None:
    made = two_points([1000], [-359_000], 1800)
    assert made.grams(-359_000) == 1800


_TOO_LIGHT = "Found a mass of {} g, allowed is 200 g or more; take about what a full jug weighs."


@pytest.mark.parametrize(
    ("empty", "loaded", "mass_g", "said"),
    [
        ([0], [1], 150, _TOO_LIGHT.format(150)),
        ([0], [1], float("nan"), _TOO_LIGHT.format("nan")),
        ([], [1], 1800, "The scale gave no reading empty; check it with crumbcall scale read."),
        ([0], [], 1800, "The scale gave no reading with the mass on it; check it with crumbcall scale read."),
        (
            [0],
            [0x7FFFFF],
            1800,
            "The scale is at the end of its range with the mass on it; "
            "check the load cell's wires, and its capacity.",
        ),
        (
            [100],
            [400],
            1800,
            "The mass moved the scale by 300 counts only; put it on the middle of the plate, "
            "and check that nothing carries the plate but the cell.",
        ),
    ],
)
def test_two_points_that_make_no_line(empty: list[int], loaded: list[int], mass_g: float, said: str) -> None:
    with pytest.raises(DeviceError) as caught:
        two_points(empty, loaded, mass_g)
    assert str(caught.value) == said


def test_spread_leaves_out_a_tenth_on_either_side() -> None:
    assert spread([*range(11)]) == 8
    assert spread([5.0] * 18 + [-900.0, 900.0]) == 0
    assert spread([1.0]) == 0


def test_a_calibration_is_kept(tmp_path: Path) -> None:
    file = tmp_path / "data" / "scale.json"
    assert load_calibration(file) is None
    save_calibration(file, KNOWN)
    assert load_calibration(file) == KNOWN
    assert [one.name for one in file.parent.iterdir()] == ["scale.json"]


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"zero": 1, "counts_per_gram": 0, "mass_g": 1, "noise_g": 1}']
)
def test_a_damaged_calibration_is_one_clear_line(tmp_path: Path, text: str) -> None:
    file = tmp_path / "scale.json"
    file.write_text(text)
    with pytest.raises(DeviceError) as caught:
        load_calibration(file)
    assert str(caught.value) == f"{file} is not a calibration; calibrate again: crumbcall scale calibrate."


def test_a_calibration_that_cant_be_kept_is_reported(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file")
    with pytest.raises(DeviceError, match=r"can't be written \(.*\); give its folder to this user\.$"):
        save_calibration(tmp_path / "data" / "scale.json", KNOWN)


# --- recorded samples


@pytest.mark.parametrize("calibration", [None, KNOWN])
def test_samples_are_kept_and_read(tmp_path: Path, calibration: Calibration | None) -> None:
    samples = ((0.0, 84_000), (0.1, 84_003), (0.1, -8_388_608))
    file = tmp_path / "jug.csv"
    file.write_text("\n".join(sample_lines(calibration, samples)))
    found = read_samples(file)
    assert found.samples == samples
    assert found.calibration == calibration


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", " holds no samples; name a file that scale record wrote."),
        ("0.0,1\nx", ', line 2: found "x", allowed is seconds,counts; name a file that scale record wrote.'),
        ("1.0,1\n0.5,1", ": its times go back; name a file that scale record wrote."),
        (
            "# zero: 1\n# counts_per_gram: no\n0,1",
            ": the calibration at its head is damaged; remove it, or name another file.",
        ),
        (
            "# zero: 1\n# counts_per_gram: 0\n0,1",
            ": the calibration at its head is damaged; remove it, or name another file.",
        ),
        (
            "# zero: nan\n# counts_per_gram: 400\n0,1",
            ": the calibration at its head is damaged; remove it, or name another file.",
        ),
    ],
)
def test_what_are_no_samples_is_one_clear_line(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "jug.csv"
    file.write_text(text)
    with pytest.raises(DeviceError) as caught:
        read_samples(file)
    assert str(caught.value) == f"{file}{said}"


def test_samples_that_are_not_there_are_reported(tmp_path: Path) -> None:
    file = tmp_path / "none.csv"
    with pytest.raises(DeviceError) as caught:
        read_samples(file)
    assert str(caught.value) == (
        f"{file} can't be read (No such file or directory); name a file that scale record wrote."
    )
