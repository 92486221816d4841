"""Frames in which a network hears no phone: of a run of them one is searched. Pure.

A CTC network writes a phone in a frame or two and blanks between, so most frames say nothing. After Chen,
Zhuang, Qian and Yu 2017, "Phone Synchronous Speech Recognition With CTC Lattices" (IEEE/ACM TASLP 25): only
the frames with phones are searched. Here one frame of each run stays, the one where the blank is least sure,
so that two equal phones keep their blank and a weak phone its place.
"""

import numpy as np
from numpy.typing import NDArray

SURE = float(np.log(0.99))
"""Log-probability from which on a blank is sure."""


def spoken_frames(log_probs: NDArray[np.float32], blank: int) -> NDArray[np.intp]:
    """Numbers of the frames to search, ascending; log_probs: shape (frames, symbols)."""
    score = log_probs[:, blank]
    sure = score > SURE
    begins = np.flatnonzero(np.diff(sure, prepend=False))
    kept = ~sure
    # Begins and ends of the runs alternate; a run may last to the end.
    for start, end in zip(begins[::2], np.append(begins[1::2], len(score)), strict=False):
        kept[start + int(np.argmin(score[start:end]))] = True
    return np.flatnonzero(kept)
