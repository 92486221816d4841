from tests.bench.image.machine import answer_in, partition_offset

DUMP = """label: dos
card.img1 : start=        8192, size=     1048576, type=c, bootable
card.img2 : start=     1056768, size=     4194304, type=83
card.img3 : start=     5251072, size=     4194304, type=83
"""


def test_partitions_are_found_by_their_first_sector() -> None:
    assert [partition_offset(DUMP, number) for number in (1, 2, 3)] == [4 << 20, 516 << 20, 2564 << 20]


def test_an_answer_is_what_stands_between_its_marks() -> None:
    assert answer_in("begun-0003\r\none\r\ntwo\r\nended-0003 2\r\n# ", "0003") == (2, "one\ntwo")


def test_what_the_shell_repeats_of_a_command_is_no_answer() -> None:
    typed = "echo begun-''0003; { true\n} </dev/null 2>&1; echo ended-''0003 $?\r\n"
    assert answer_in(typed, "0003") is None
    assert answer_in(typed + "begun-0003\r\n", "0003") is None


def test_colours_are_no_part_of_an_answer() -> None:
    assert answer_in("begun-0001\n\x1b[32mok\x1b[0m\nended-0001 0\n", "0001") == (0, "ok")
