"""A disk that takes nothing, made by the kernel itself."""

import resource
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def no_room() -> Iterator[None]:
    """Within, the kernel refuses this process every byte of a file (setrlimit(2), RLIMIT_FSIZE)."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
