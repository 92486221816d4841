"""The reader of weight files, and what it makes of damaged ones."""

import numpy as np
import pytest

from assistant.asr.network import _SHIPPED
from assistant.asr.weight_file import entries, read


@pytest.fixture(scope="module")
def data() -> bytes:
    return _SHIPPED["packaged"].path().read_bytes()


def test_every_tensor_has_its_shape_and_is_finite(data: bytes) -> None:
    table = {entry.name: entry.shape for entry in entries(data)}
    tensors = read(data)
    assert {name: tensor.shape for name, tensor in tensors.items()} == table
    assert all(np.isfinite(tensor).all() for tensor in tensors.values())


def test_what_is_no_weight_file_says_what_it_begins_with() -> None:
    with pytest.raises(ValueError, match=r"it begins with b'RIFFxx', not with b'HAMAPK'"):
        entries(b"RIFFxx" + bytes(20))


def test_one_that_is_cut_says_so(data: bytes) -> None:
    with pytest.raises(ValueError, match="it is cut short"):
        entries(data[:-100])
    for length in (8, 11, 13, 40, 2000):
        with pytest.raises(ValueError, match=r"can't be read|cut short"):
            entries(data[:length])


def test_a_type_that_is_not_known_is_no_crash(data: bytes) -> None:
    name = entries(data)[0].name.encode()
    at = data.index(name) + len(name)
    with pytest.raises(ValueError, match="can't be read"):
        entries(data[:at] + bytes([77]) + data[at + 1 :])
