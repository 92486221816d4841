from tests.bench.image.machine import partition_offset

DUMP = """label: dos
card.img1 : start=        8192, size=     1048576, type=c, bootable
card.img2 : start=     1056768, size=     4194304, type=83
card.img3 : start=     5251072, size=     4194304, type=83
"""


def test_partitions_are_found_by_their_first_sector() -> None:
    assert [partition_offset(DUMP, number) for number in (1, 2, 3)] == [4 << 20, 516 << 20, 2564 << 20]
