"""Noises of a kitchen and its machines, made on the fly: motors, whines, coloured noise, clatter, thumps.

Testing has a family of its own (`kneader`), so that no network was trained with the tested motor.
All float32 at 16 kHz, RMS about 0.1.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

Wave = NDArray[np.float32]
RATE = 16_000


def _level(sound: NDArray[np.floating]) -> Wave:
    return np.asarray(0.1 * sound / (np.sqrt(np.mean(np.square(sound))) + 1e-9), np.float32)


def _slow(rng: Generator, n: int, rate_hz: float) -> NDArray[np.float64]:
    """A smooth random curve, about -1..1, that changes about `rate_hz` times a second."""
    knots = rng.standard_normal(max(4, int(n / RATE * rate_hz) + 4))
    return np.interp(np.linspace(0, len(knots) - 1, n), np.arange(len(knots)), knots)


def coloured(rng: Generator, n: int, slope: float | None = None) -> Wave:
    """Noise whose spectrum falls by `slope` dB an octave (random -9..+3), with a few broad humps."""
    slope = rng.uniform(-9, 3) if slope is None else slope
    spectrum = np.fft.rfft(rng.standard_normal(n))
    frequency = np.maximum(np.fft.rfftfreq(n, 1 / RATE), 30.0)
    gain = slope * np.log2(frequency / 500.0)
    for _ in range(rng.integers(0, 4)):
        centre, width = rng.uniform(100, 6000), rng.uniform(0.15, 0.8)
        gain = gain + rng.uniform(3, 15) * np.exp(-((np.log2(frequency / centre) / width) ** 2))
    return _level(np.fft.irfft(spectrum * 10 ** (gain / 20), n))


def motor(rng: Generator, n: int, low: float = 22.0, high: float = 420.0) -> Wave:
    """Hum of a motor and gears: harmonics that wobble and pulse with the load, over coloured noise."""
    time = np.arange(n) / RATE
    base = float(np.exp(rng.uniform(np.log(low), np.log(high))))
    turn = rng.uniform(0.4, 12.0)
    phase = (
        2
        * np.pi
        * np.cumsum(
            base * (1 + rng.uniform(0, 0.02) * _slow(rng, n, 2) + 0.004 * np.sin(2 * np.pi * turn * time))
        )
        / RATE
    )
    slope, sound = rng.uniform(-9, -1), np.zeros(n)
    for k in range(1, int(7500 / base) + 1):
        amplitude = 10 ** ((slope * np.log2(k) + rng.normal(0, 6)) / 20)
        sound += amplitude * np.sin(k * phase + rng.uniform(0, 6.28))
        if k > 150:
            break
    if rng.random() < 0.6:
        mesh = base * rng.integers(7, 40) * rng.uniform(0.97, 1.03)
        if mesh < 7000:
            side = 1 + rng.uniform(0.1, 0.9) * np.sin(2 * np.pi * turn * time)
            sound += (
                rng.uniform(0.05, 0.6)
                * side
                * np.sin(2 * np.pi * mesh * time * (1 + 0.0005 * _slow(rng, n, 3)))
            )
    load = (
        1
        + rng.uniform(0, 0.7) * np.sin(2 * np.pi * turn * time + rng.uniform(0, 6.28))
        + 0.15 * _slow(rng, n, 3)
    )
    rush = _level(coloured(rng, n, rng.uniform(-6, 0)))
    return _level(_level(sound * load) + rng.uniform(0.1, 1.2) * rush * (1 + 0.4 * _slow(rng, n, 2)))


def whine(rng: Generator, n: int) -> Wave:
    """A tone with overtones that sweeps, as of a blender or a vacuum cleaner speeding up."""
    start, end = rng.uniform(200, 3500, 2)
    course = np.interp(np.arange(n), [0, n], [start, end]) * (1 + 0.03 * _slow(rng, n, 1.5))
    phase = 2 * np.pi * np.cumsum(course) / RATE
    sound = sum(10 ** (rng.uniform(-20, 0) / 20) * np.sin(k * phase) for k in range(1, 6))
    return _level(_level(np.asarray(sound)) + rng.uniform(0.3, 1.5) * coloured(rng, n))


def clatter(rng: Generator, n: int) -> Wave:
    """Dishes, pans, cutlery: bursts of ringing modes."""
    sound = 0.01 * rng.standard_normal(n)
    for _ in range(max(1, rng.poisson(n / RATE * rng.uniform(1, 6)))):
        length = int(rng.uniform(0.03, 0.5) * RATE)
        at = int(rng.integers(0, max(1, n - length)))
        time = np.arange(min(length, n - at)) / RATE
        burst = rng.standard_normal(len(time)) * np.exp(-time * rng.uniform(60, 300)) * rng.uniform(0.2, 1)
        for _ in range(rng.integers(2, 9)):
            burst = burst + rng.uniform(0.1, 1) * np.sin(2 * np.pi * rng.uniform(300, 7500) * time) * np.exp(
                -time * rng.uniform(8, 90)
            )
        sound[at : at + len(time)] += 10 ** (rng.uniform(-20, 0) / 20) * burst
    return _level(sound)


def thumps(rng: Generator, n: int) -> Wave:
    """Dough that slaps the bowl at each turn, over the hum of the machine."""
    period = RATE / rng.uniform(0.6, 3.0)
    sound = 0.25 * motor(rng, n).astype(np.float64) / 0.1
    for at in np.arange(rng.uniform(0, period), n, period):
        start = int(max(0, at + rng.normal(0, 0.03) * RATE))
        time = np.arange(min(int(0.25 * RATE), n - start)) / RATE
        if len(time) > 0:
            slap = np.sin(2 * np.pi * rng.uniform(40, 160) * time) * 3 + rng.standard_normal(
                len(time)
            ) * rng.uniform(0.3, 2)
            sound[start : start + len(time)] += (
                slap * np.exp(-time * rng.uniform(15, 60)) * rng.uniform(0.4, 1)
            )
    return _level(sound)


def water(rng: Generator, n: int) -> Wave:
    """A tap or a hose: a bright rush that swells, and bubbles that chirp upwards."""
    rush = coloured(rng, n, rng.uniform(-1, 4)) * (1 + rng.uniform(0, 0.3) * _slow(rng, n, 8))
    sound = np.asarray(rush, np.float64)
    for _ in range(rng.poisson(n / RATE * rng.uniform(0, 60))):
        length = int(rng.uniform(0.004, 0.04) * RATE)
        at = int(rng.integers(0, n - length))
        time = np.arange(length) / RATE
        tone = rng.uniform(300, 4000)
        sound[at : at + length] += (
            0.1
            * 10 ** (rng.uniform(-10, 14) / 20)
            * np.sin(2 * np.pi * tone * time * (1 + rng.uniform(0, 8) * time))
            * np.exp(-time * rng.uniform(80, 400))
        )
    return _level(sound)


def kneader(rng: Generator, n: int) -> Wave:
    """Test only: a gearbox at mains speed with a spiral's beat, a belt's chirp and a fan."""
    time = np.arange(n) / RATE
    base = 50.0 * rng.uniform(0.93, 1.0) * rng.choice([0.5, 1.0, 2.0])
    beat = rng.uniform(1.2, 3.5)
    teeth = int(rng.integers(9, 23))
    sound = np.zeros(n)
    for k in range(1, 60):
        depth = rng.uniform(0, 0.8)
        swing = (
            1
            + depth * np.sign(np.sin(2 * np.pi * beat * time + rng.uniform(0, 6))) * 0.5
            + depth * np.sin(4 * np.pi * beat * time) * 0.5
        )
        strength = (4.0 if k % teeth == 0 else 1.0) / k ** rng.uniform(0.5, 1.1)
        sound += strength * swing * np.sin(2 * np.pi * k * base * time + rng.uniform(0, 6.28))
    chirp = np.sin(2 * np.pi * (2400 + 300 * np.sin(2 * np.pi * beat * time)) * time) * (
        np.sin(2 * np.pi * beat * time) > 0.7
    )
    return _level(
        _level(sound) + 0.03 * chirp + rng.uniform(0.3, 0.9) * coloured(rng, n, rng.uniform(-5, -2))
    )


TRAIN: tuple[tuple[float, Callable[[Generator, int], Wave]], ...] = (
    (0.36, motor), (0.11, whine), (0.19, coloured), (0.14, clatter), (0.11, thumps), (0.09, water),
)  # fmt: skip


def made(rng: Generator, n: int) -> Wave:
    """One stretch of a random kind of noise to train with."""
    shares = np.array([share for share, _ in TRAIN])
    return TRAIN[int(rng.choice(len(TRAIN), p=shares / shares.sum()))][1](rng, n)
