"""Documentation that can fail: the parts made from the program are up to date."""

import pytest

from tests.write_docs import PARTS, ROOT, part_in


@pytest.mark.parametrize("name", PARTS)
def test_a_part_made_from_the_program_is_up_to_date(name: str) -> None:
    file, make = PARTS[name]
    found = part_in((ROOT / file).read_text(encoding="utf-8"), name)
    assert found == make(), f"{file}: {name} is out of date; run `python -m tests.write_docs`"
