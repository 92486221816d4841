"""Room responses by the image-source method with a diffuse tail; the direct sound is at sample 0.

Allen and Berkley 1979, "Image method for efficiently simulating small-room acoustics".
"""

from __future__ import annotations

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

RATE = 16_000
SPEED = 343.0
"""Metres a second, air at 20 C."""


def response(rng: Generator, length: int = 8_000) -> NDArray[np.float32]:
    """A random kitchen; peak 1 at sample 0.

    Walls of 2.2..9 m, microphone 0.3..3 m away, reverberation 0.15..0.9 s.
    """
    size = np.array([rng.uniform(2.5, 9), rng.uniform(2.2, 7), rng.uniform(2.3, 4)])
    reverberation = rng.uniform(0.15, 0.9)
    volume, surface = size.prod(), 2 * (size[0] * size[1] + size[1] * size[2] + size[0] * size[2])
    absorbed = np.clip(0.161 * volume / (surface * reverberation), 0.05, 0.9)  # Sabine
    reflection = np.sqrt(1 - absorbed)
    source = rng.uniform(0.3, size - 0.3)
    way = rng.standard_normal(3)
    microphone = np.clip(source + way / np.linalg.norm(way) * rng.uniform(0.3, 3.0), 0.2, size - 0.2)
    order = np.arange(-7, 8)
    n = np.stack(np.meshgrid(order, order, order, indexing="ij"), -1).reshape(-1, 1, 3)
    flip = np.stack(np.meshgrid([0, 1], [0, 1], [0, 1], indexing="ij"), -1).reshape(1, -1, 3)
    image = (1 - 2 * flip) * source + 2 * n * size
    distance = np.linalg.norm(image - microphone, axis=-1).ravel()
    bounces = (np.abs(n - flip) + np.abs(n)).sum(-1).ravel()
    strength = reflection**bounces / np.maximum(distance, 0.1)
    direct = float(distance.min())
    delay = (distance - direct) / SPEED * RATE
    near = delay < length - 1
    whole = delay[near].astype(int)
    part = delay[near] - whole
    found = np.zeros(length)
    np.add.at(found, whole, strength[near] * (1 - part))
    np.add.at(found, whole + 1, strength[near] * part)
    time = np.arange(length) / RATE
    tail = rng.standard_normal(length) * np.exp(-6.9 * time / reverberation) * (time > 0.02)
    early = np.abs(found[320:1600]).mean() + 1e-6
    found += tail * early * rng.uniform(0.3, 1.2)
    found *= np.exp(-0.5 * 6.9 * time / reverberation * 0.3)
    return np.asarray(found / found[0], np.float32)
