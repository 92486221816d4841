# mypy: disable-error-code="import-not-found"
"""Clean speech to speech in a kitchen, a batch at a time on the accelerator.

Speed, place in the window, room, tilt (also that of a raised voice), band limits, noise and its colour,
level, clipping, rounding to 16 bits. What is random comes from one torch generator: the same seed gives the
same batch.
"""

from __future__ import annotations

from dataclasses import dataclass

import torch

RATE = 16_000


@dataclass(frozen=True, slots=True, eq=False)
class Bank:
    """The sounds that a batch is made of."""

    speech: torch.Tensor
    """All clips as one run of samples."""
    start: torch.Tensor
    """First sample of each clip."""
    length: torch.Tensor
    """Samples of each clip; 0: a clip of noise alone."""
    noise: torch.Tensor
    """Noises (n, samples)."""
    talkers: int
    """How many of the noises, the last ones, are people."""
    alone: int
    """How many of these, the last ones, are one person each."""
    rooms: torch.Tensor
    """Room responses (n, 8000)."""


@dataclass(frozen=True, slots=True)
class Recipe:
    """Shares and ranges from which conditions are drawn."""

    slowest: float = 0.86
    """Lowest factor of speed."""
    fastest: float = 1.16
    """Highest factor of speed."""
    uneven: float = 0.13
    """How much faster and slower than its mean a clip gets in its course."""
    room: float = 0.5
    """Share of clips in a room."""
    quiet: float = 0.12
    """Share of clips without noise."""
    lowest_snr: float = -5.0
    """Least voice over noise (dB)."""
    highest_snr: float = 26.0
    """Most voice over noise (dB)."""
    usual: float = 0.5
    """Share of clips with noise as beside a machine at work; the rest anywhere between the bounds."""
    usual_snr: tuple[float, float] = (2.0, 12.0)
    """Voice over noise (dB) beside a machine at work."""
    second_noise: float = 0.35
    """Share of clips with two noises."""
    lowest_talkers: float = -2.0
    """Least dB over several people: they are speech as much as the voice is, and one would hear the
    loudest."""
    lowest_alone: float = 4.0
    """Least dB over one other person."""
    clip: float = 0.08
    """Share of clips that are too loud for the converter."""
    band: float = 0.15
    """Share of clips whose high end is cut."""
    line: float = 0.16
    """Share of clips that sound as if recorded at 8 kHz."""


class Kitchen:
    """Draws batches."""

    def __init__(self, bank: Bank, seed: int, recipe: Recipe = Recipe()) -> None:
        self.bank = bank
        self.recipe = recipe
        self.device = bank.speech.device
        self.random = torch.Generator(self.device)
        self.random.manual_seed(seed)

    def uniform(self, n: int, low: float = 0.0, high: float = 1.0) -> torch.Tensor:
        """(n,) even between two bounds."""
        return low + (high - low) * torch.rand(n, generator=self.random, device=self.device)

    def batch(self, chosen: torch.Tensor, window: int) -> tuple[torch.Tensor, torch.Tensor]:
        """Clean and noisy sound of clips (batch,) in windows (batch, window); no samples: noise alone."""
        clean, spoken = self._place(chosen, window)
        voice = self._filter(clean, self._voice_curve(len(chosen), window + 8000), rooms=True)
        active = spoken.sum(1).clamp_min(RATE // 4)
        loudness = ((voice.square() * spoken).sum(1) / active).sqrt().clamp_min(1e-6)
        voice = voice / loudness[:, None]
        noisy = voice * (self.bank.length[chosen] > 0)[:, None] + self._noise(len(chosen), window)
        return clean, self._record(noisy)

    def _place(self, chosen: torch.Tensor, window: int) -> tuple[torch.Tensor, torch.Tensor]:
        """Clips at random speeds and places, peak about 0.5, and where they sound."""
        r = self.recipe
        length = self.bank.length[chosen].float()
        speed = torch.maximum(self.uniform(len(chosen), r.slowest, r.fastest), length / (window - 400))
        offset = self.uniform(len(chosen)) * (window - length / speed)
        at = (torch.arange(window, device=self.device)[None] - offset[:, None]) * speed[:, None]
        spoken = (at >= 0) & (at < length[:, None] - 1)
        turn = 2 * torch.pi / length.clamp_min(1)[:, None]
        phase = self.uniform(len(chosen), 0, 2 * torch.pi)[:, None]
        uneven = self.uniform(len(chosen), 0, r.uneven)[:, None] / turn
        # It begins and ends where it did.
        at = at + spoken * uneven * (torch.sin(turn * at + phase) - torch.sin(phase))
        whole = at.clamp(min=0).floor()
        part = at - whole
        index = (self.bank.start[chosen][:, None] + whole.long()).clamp(max=len(self.bank.speech) - 2)
        index = torch.where(spoken, index, 0)
        sound = self.bank.speech[index].float() * (1 - part) + self.bank.speech[index + 1].float() * part
        sound = torch.where(spoken, sound / 32768, 0.0)
        hiss = torch.randn(sound.shape, generator=self.random, device=self.device) * 2e-4
        return sound + hiss, spoken

    def _voice_curve(self, n: int, size: int) -> torch.Tensor:
        """Gains (n, bins): tilt, the lift at 1-4 kHz of a raised voice, high and low ends cut."""
        frequency = torch.fft.rfftfreq(size, 1 / RATE, device=self.device).clamp_min(40.0)[None]
        octave = (frequency / 1000).log2()
        gain = self.uniform(n, -4, 4)[:, None] * octave.clamp(-4, 3)
        raised = (self.uniform(n) < 0.35).float() * self.uniform(n, 2, 9)
        gain = gain + raised[:, None] * torch.exp(-(((frequency / 2300).log2() / 1.1) ** 2))
        low = torch.where(self.uniform(n) < 0.35, self.uniform(n, 80, 350), 20.0)[:, None]
        gain = gain - 12 * (low / frequency).log2().clamp(min=0)
        high = torch.where(self.uniform(n) < self.recipe.band, self.uniform(n, 3000, 7000), 9000.0)[:, None]
        gain = gain - 40 * (frequency / high).log2().clamp(min=0)
        line = torch.where(self.uniform(n) < self.recipe.line, self.uniform(n, 3300, 4300), 9000.0)[:, None]
        gain = gain - 50 * (frequency > line).float()
        for _ in range(2):
            centre = (self.uniform(n, 7, 12.5)).exp2()[:, None]
            gain = gain + self.uniform(n, -7, 7)[:, None] * torch.exp(
                -(((frequency / centre).log2() / 0.4) ** 2)
            )
        return (10 ** (gain.clamp(-60, 30) / 20)).float()

    def _filter(self, sound: torch.Tensor, curve: torch.Tensor, *, rooms: bool = False) -> torch.Tensor:
        size = (curve.shape[1] - 1) * 2
        spectrum = torch.fft.rfft(sound, size) * curve
        if rooms:
            which = torch.randint(
                len(self.bank.rooms), (len(sound),), generator=self.random, device=self.device
            )
            heard = torch.fft.rfft(self.bank.rooms[which], size)
            dry = self.uniform(len(sound)) >= self.recipe.room
            spectrum = spectrum * torch.where(dry[:, None], torch.ones_like(heard), heard)
        return torch.fft.irfft(spectrum, size)[:, : sound.shape[1]]

    def _cut(self, n: int, window: int) -> tuple[torch.Tensor, torch.Tensor]:
        """Stretches of random noises (n, window), and the dB at which a voice is at least over each."""
        bank, r = self.bank, self.recipe
        which = torch.randint(len(bank.noise), (n,), generator=self.random, device=self.device)
        start = (self.uniform(n) * (bank.noise.shape[1] - window)).long()
        index = start[:, None] + torch.arange(window, device=self.device)[None]
        people = which >= len(bank.noise) - bank.talkers
        alone = which >= len(bank.noise) - bank.alone
        least = torch.where(alone, r.lowest_alone, torch.where(people, r.lowest_talkers, -99.0))
        return bank.noise[which].gather(1, index).float(), least.clamp_min(r.lowest_snr)

    def _noise(self, n: int, window: int) -> torch.Tensor:
        """Noise at random levels under a voice of level 1."""
        r = self.recipe
        first, least = self._cut(n, window)
        other, least_other = self._cut(n, window)
        second = (self.uniform(n) < r.second_noise).float() * (self.uniform(n, -15, 3) / 20 * 2.3026).exp()
        sound = self._level(first) + second[:, None] * self._level(other)
        least = torch.where(second > 0, torch.maximum(least, least_other), least)
        size = window + window % 2
        frequency = torch.fft.rfftfreq(size, 1 / RATE, device=self.device).clamp_min(40.0)[None]
        tilt = self.uniform(n, -4, 4)[:, None] * (frequency / 1000).log2().clamp(-4, 3)
        centre = self.uniform(n, 7, 12.5).exp2()[:, None]
        hump = self.uniform(n, -8, 8)[:, None] * torch.exp(-(((frequency / centre).log2() / 0.6) ** 2))
        sound = self._level(self._filter(sound, (10 ** ((tilt + hump) / 20)).float()))
        swell = self.uniform(n, 0, 0.35)[:, None] * torch.sin(
            torch.arange(window, device=self.device)[None] / RATE * self.uniform(n, 0.5, 6)[:, None]
            + self.uniform(n, 0, 6.28)[:, None]
        )
        snr = least + self.uniform(n) * (r.highest_snr - least).clamp_min(0)
        usual = torch.maximum(self.uniform(n, *r.usual_snr), least)
        snr = torch.where(self.uniform(n) < r.usual, usual, snr)
        snr = torch.where(self.uniform(n) < r.quiet, self.uniform(n, 30, 45), snr)
        return self._level(sound * (1 + swell)) * (10 ** (-snr / 20))[:, None]

    @staticmethod
    def _level(sound: torch.Tensor) -> torch.Tensor:
        return sound / sound.square().mean(1, keepdim=True).sqrt().clamp_min(1e-5)

    def _record(self, sound: torch.Tensor) -> torch.Tensor:
        """As a microphone and a 16-bit converter return it: some too loud, some faint."""
        n = len(sound)
        peak = sound.abs().amax(1).clamp_min(1e-6)
        level = (self.uniform(n, -38, -1) / 20 * 2.3026).exp()
        hot = (self.uniform(n) < self.recipe.clip).float()
        level = level * (1 - hot) + hot * self.uniform(n, 1.2, 4.0)
        sound = (sound * (level / peak)[:, None]).clamp(-1, 1)
        return (sound * 32767).round() / 32768
