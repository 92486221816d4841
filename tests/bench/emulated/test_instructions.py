"""What is read from the marks of a count."""

import pytest

from tests.bench.emulated.instructions import Counted, read_marks, rows
from tests.bench.emulated.work import ANSWERS, REFERENCES


def marks(arithmetic: int, interpreting: int, answers: list[tuple[int, int, int]]) -> str:
    """Lines as the plugin writes them."""
    lines, count = [], 7
    for number in range(2 * REFERENCES):
        lines.append(f"{2 * number} {count}")
        count += arithmetic if number < REFERENCES else interpreting
        lines.append(f"{2 * number + 1} {count}")
    for number, parts in enumerate(answers):
        for part, work in enumerate((0, *parts)):
            count += work
            lines.append(f"{ANSWERS + 4 * number + part} {count}")
    return "\n".join(lines)


def test_search_is_recognising_less_the_network() -> None:
    found = read_marks(marks(100, 50, [(10, 16, 3), (20, 30, 5), (30, 50, 4)]))
    assert found == Counted(arithmetic=100, interpreting=50, network=20, search=10, after=4)


def test_a_count_that_was_cut_short_leaves_the_half_answer_out() -> None:
    whole = marks(100, 50, [(10, 16, 3), (20, 30, 5)])
    assert read_marks(whole.rpartition("\n")[0]).network == 10


def test_the_model_turns_each_time_into_instructions_by_its_own_reference() -> None:
    there = Counted(arithmetic=100e6, interpreting=50e6, network=20e6, search=10e6, after=4e6)
    here = Counted(arithmetic=10e6, interpreting=10e6, network=3e6, search=4e6, after=1e6)
    found = {what.partition(",")[0]: model for what, _, model in rows(there, here)}
    assert float(found["network"]) == pytest.approx(30)
    assert float(found["search"]) == pytest.approx(20)
    assert float(found["decide"]) == pytest.approx(5)
