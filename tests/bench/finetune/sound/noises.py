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


def drum(rng: Generator, n: int) -> Wave:
    """A drum that turns and rests: water that slops at each turn, a pump's hum, things that tumble."""
    time = np.arange(n) / RATE
    turn = rng.uniform(0.5, 1.4)
    slop = np.maximum(0, np.sin(2 * np.pi * turn * time + 0.5 * _slow(rng, n, 1))) ** rng.uniform(1, 5)
    wash = coloured(rng, n, rng.uniform(-6, 1)) * (0.15 + slop)
    base = rng.choice([50.0, 60.0, 100.0, 120.0]) * rng.uniform(0.96, 1.0)
    hum = sum(
        10 ** (rng.uniform(-26, 0) / 20) * np.sin(2 * np.pi * k * base * time + rng.uniform(0, 6.28))
        for k in range(1, 18)
    )
    sound = _level(wash) + rng.uniform(0.1, 1.0) * _level(np.asarray(hum) * (1 + 0.2 * _slow(rng, n, 2)))
    if rng.random() < 0.6:
        sound = sound + rng.uniform(0.1, 0.7) * thumps(rng, n)
    if rng.random() < 0.35:  # it turns the other way after a rest
        period = rng.uniform(2, 9) * RATE
        rest = (np.arange(n) + rng.uniform(0, period)) % period < 0.25 * period
        gate = np.convolve(np.where(rest, 0.15, 1.0), np.full(1600, 1 / 1600), "same")
        sound = sound * gate
    return _level(sound)


def gears(rng: Generator, n: int) -> Wave:
    """Two pairs of wheels under a load that comes and goes: meshes with side bands, a growl, loose play."""
    shaft = rng.uniform(4, 48)
    steady = 1 + 0.01 * rng.uniform(0, 1) * _slow(rng, n, 3)
    angle = 2 * np.pi * np.cumsum(shaft * steady) / RATE
    load = 1 + rng.uniform(0.1, 0.9) * np.sin(angle * rng.uniform(0.02, 0.2) + rng.uniform(0, 6.28))
    sound = np.zeros(n)
    for wheel in (1.0, rng.uniform(0.15, 0.6)):
        teeth = int(rng.integers(8, 44))
        for k in range(1, 7):
            mesh = k * teeth * wheel
            if mesh * shaft > 7500:
                break
            bent = mesh * angle + rng.uniform(0, 0.8) * np.sin(wheel * angle)
            swing = 1 + rng.uniform(0, 0.7) * np.sin(wheel * angle + rng.uniform(0, 6.28))
            sound += 10 ** (rng.uniform(-18, 0) / 20) / k * swing * np.sin(bent + rng.uniform(0, 6.28))
    growl = coloured(rng, n, rng.uniform(-7, -1)) * (1 + rng.uniform(0, 0.8) * np.sin(angle))
    return _level(_level(sound * load) + rng.uniform(0.2, 1.6) * _level(growl * load))


def pump(rng: Generator, n: int) -> Wave:
    """Strokes that rattle a loose panel: short bursts through resonances, a few to a hundred a second."""
    period = RATE / float(np.exp(rng.uniform(np.log(4), np.log(110))))
    strokes = np.zeros(n)
    even = np.arange(rng.uniform(0, period), n, period)
    at = even + rng.normal(0, 0.02 * period, len(even))
    strokes[at.clip(0, n - 1).astype(int)] = rng.uniform(0.4, 1.0, len(at))
    frequency = np.maximum(np.fft.rfftfreq(n, 1 / RATE), 20.0)
    gain = np.full(len(frequency), 1e-3, np.complex128)
    for _ in range(rng.integers(3, 9)):
        centre, sharp = float(np.exp(rng.uniform(np.log(90), np.log(5000)))), rng.uniform(3, 25)
        gain += rng.uniform(0.2, 1) / (1 + 1j * sharp * (frequency / centre - centre / frequency))
    rattle = np.fft.irfft(np.fft.rfft(strokes * (1 + 0.3 * rng.standard_normal(n))) * gain, n)
    return _level(_level(rattle) + rng.uniform(0.1, 1.0) * coloured(rng, n, rng.uniform(-8, 0)))


def tap(rng: Generator, n: int) -> Wave:
    """A jet into a sink or a pan, which rings and fills: bright noise through a resonance that climbs."""
    flow = coloured(rng, n, rng.uniform(-3, 5)) * (1 + rng.uniform(0, 0.2) * _slow(rng, n, 15))
    time = np.linspace(0, 1, n)
    tone = rng.uniform(250, 900) * (1 + rng.uniform(0, 2.5) * time) * (1 + 0.02 * _slow(rng, n, 20))
    rush = _slow(rng, n, rng.uniform(60, 250)) * np.sin(2 * np.pi * np.cumsum(tone) / RATE)
    basin = coloured(rng, n, rng.uniform(-9, -3))
    sound = flow + rng.uniform(0, 0.8) * _level(rush) + rng.uniform(0, 0.8) * basin
    if rng.random() < 0.3:
        sound = sound + rng.uniform(0.1, 0.5) * water(rng, n)
    return _level(sound)


def hubbub(rng: Generator, n: int) -> Wave:
    """A full room without words: many voices' pitches and vowels at random, blurred, over a dull rush."""
    sound = np.zeros(n)
    time = np.arange(n) / RATE
    frequency = np.maximum(np.fft.rfftfreq(n, 1 / RATE), 30.0)
    for _ in range(int(rng.integers(4, 14))):
        pitch = rng.uniform(85, 260) * (1 + 0.12 * _slow(rng, n, 2))
        buzz = 2 * ((np.cumsum(pitch) / RATE) % 1) - 1 + 0.2 * rng.standard_normal(n)
        spectrum = np.fft.rfft(buzz)
        vowels = []
        for _ in range(3):
            gain = 10 ** (-6 * np.log2(frequency / 500).clip(0) / 20)
            for low, high in ((280, 850), (900, 2300), (2300, 3400)):
                centre = rng.uniform(low, high)
                gain = gain * (1 + 6 * np.exp(-((np.log2(frequency / centre) / 0.2) ** 2)))
            vowels.append(np.fft.irfft(spectrum * gain, n))
        pace = rng.uniform(2, 5)
        speaks = np.maximum(0, _slow(rng, n, pace)) * (_slow(rng, n, 0.4) > rng.uniform(-0.8, 0.3))
        mixed = sum(v * np.maximum(0, _slow(rng, n, pace)) for v in vowels)
        sound += rng.uniform(0.3, 1.0) * _level(np.asarray(mixed * speaks + 1e-6 * np.sin(time)))
    return _level(_level(sound) + rng.uniform(0.2, 1.0) * coloured(rng, n, rng.uniform(-8, -3)))


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
    (0.20, motor), (0.08, whine), (0.14, coloured), (0.11, clatter), (0.08, thumps), (0.05, water),
    (0.09, drum), (0.09, gears), (0.07, pump), (0.06, tap), (0.06, hubbub),
)  # fmt: skip


def made(rng: Generator, n: int) -> Wave:
    """One stretch of a random kind of noise to train with."""
    shares = np.array([share for share, _ in TRAIN])
    return TRAIN[int(rng.choice(len(TRAIN), p=shares / shares.sum()))][1](rng, n)
