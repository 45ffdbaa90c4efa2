"""Cabin noise of a light piston single, made from physics, and voices mixed into it at a known SNR.

Never reads a recording and never plays a sound. What is heard in such a cabin, and why it sounds so here:

- The propeller: blade-pass orders, the strongest near 80 Hz with two blades and up to 130 Hz with three
  (manufacturer's note on cabin spectra, H16 of our facts; secondary copy). 80 Hz is 2,400 rpm times two.
- The engine: a four-stroke fires each cylinder once in two turns, so everything repeats at half the shaft
  speed and the firing orders are multiples of cylinders / 2 (mechanics, no source needed). Cylinders
  differ a little: weak half orders between the strong ones.
- Broadband of the boundary layer, exhaust and vents: most of the noise lies in 70-300 Hz and it falls
  above 500 Hz (H16). Light twins are quieter in level, not different in kind (H15).
- Gusts: flow noise grows with the fifth to sixth power of speed (acoustics, from memory), so that a light
  gust of 4 kt at 90 kt swells the broadband by 1 dB; the rpm wander a little under the load.

Levels in such cabins are 80-93 dB (H12, H13) and near 100 dB at take-off (H14). What reaches a boom
microphone relative to the voice is not published (H17): so the SNR is asked for, and 0 to 20 dB are swept.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Curve = NDArray[np.float64]

RATE_HZ = 16_000
"""Samples a second of everything here: what the ear takes."""

LOOP_S = 60
"""Length of the loop of noise, a whole number of seconds so that every order closes on itself."""

FRAME_S = 0.02
VOICED_WITHIN_DB = 30.0
"""The SNR's definition: voice is what lies in 20 ms frames within 30 dB of the loudest."""

SPEECH_BAND_HZ = (300.0, 3400.0)
"""The telephone band, for the second figure."""

GUST_DB = 1.0
"""Standard deviation of the broadband's level."""

_RPM_RANGE = (2300, 2500)
"""Cruise power of a direct-drive engine (common practice, no source)."""

_HALF_ORDERS = 60
"""Orders of half the shaft speed that are made: up to 1,200 Hz; above, the broadband covers them."""

_BROADBAND_DB = (
    (10.0, -14.0),
    (40.0, -6.0),
    (70.0, 0.0),
    (300.0, 0.0),
    (500.0, -5.0),
    (1000.0, -14.0),
    (2000.0, -23.0),
    (4000.0, -33.0),
    (8000.0, -42.0),
)
"""Frequency and density in dB: level through 70-300 Hz, falling above 500 Hz (H16), 9-10 dB an octave."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Powerplant:
    """What turns in front of the cabin."""

    blades: int = 2
    cylinders: int = 4
    tones_db: float = 1.0
    """Power of all orders together against the broadband, in dB."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixed:
    """A voice in noise, and how far above it."""

    samples: Samples
    """Mono at 16 kHz, the noise at the level it came with."""

    snr_db: float
    """The voice's frames within 30 dB of the loudest against the noise, full band."""

    band_snr_db: float
    """The same for 300-3400 Hz only: a cabin's rumble hides little of a voice, so this is higher."""


class Cabin:
    """A loop of noise, read from any sample on, without end."""

    def __init__(self, seed: int, powerplant: Powerplant | None = None) -> None:
        random = np.random.default_rng([seed, 0xCAB1])
        self.loop = make_noise(random, powerplant or Powerplant())
        self.offset = int(random.integers(len(self.loop)))
        """Where in the loop the flight begins."""

    def at(self, start: int, length: int) -> Samples:
        """Noise of unit RMS from sample `start` on (16 kHz, any whole number)."""
        first = (start + self.offset) % len(self.loop)
        if first + length <= len(self.loop):
            return self.loop[first : first + length]
        return np.take(self.loop, np.arange(first, first + length), mode="wrap")


def make_noise(random: np.random.Generator, powerplant: Powerplant, seconds: int = LOOP_S) -> Samples:
    """Make a seamless loop of cabin noise: float32 mono at 16 kHz with an RMS of 1."""
    length = seconds * RATE_HZ
    gust = _slow(random, length, below_hz=0.4)
    broadband = _shaped(random, length) * (10 ** (GUST_DB * gust / 20)).astype(np.float32)
    tones = _orders(random, powerplant, length, load=gust)
    noise = _unit(broadband) + 10 ** (powerplant.tones_db / 20) * _unit(tones)
    return _unit(noise)


def voice_rms(voice: Samples) -> float:
    """RMS of a voice over its 20 ms frames within 30 dB of the loudest; 0 for silence (16 kHz)."""
    frame = int(FRAME_S * RATE_HZ)
    padded = np.pad(voice.astype(np.float64), (0, -len(voice) % frame))
    powers = np.mean(padded.reshape(-1, frame) ** 2, axis=1)
    loudest = powers.max(initial=0.0)
    if loudest == 0.0:
        return 0.0
    return float(np.sqrt(powers[powers >= loudest * 10 ** (-VOICED_WITHIN_DB / 10)].mean()))


def snr_db(voice: Samples, noise: Samples) -> float:
    """SNR as the project defines it, before any cleanup (both 16 kHz); minus infinity for no voice."""
    rms = voice_rms(voice)
    return float(20 * np.log10(rms / _rms(noise))) if rms > 0 else -math.inf


def band_snr_db(voice: Samples, noise: Samples) -> float:
    """The same within 300-3400 Hz: the same frames' voice and the noise, both band-limited."""
    return snr_db(_speech_band(voice), _speech_band(noise))


def gain_for_snr(voice: Samples, noise_rms: float, wanted_db: float) -> float:
    """What to multiply a voice by so that it stands `wanted_db` above noise of that RMS."""
    rms = voice_rms(voice)
    return noise_rms * 10 ** (wanted_db / 20) / rms if rms > 0 else 0.0


def mix_at_snr(voice: Samples, noise: Samples, wanted_db: float) -> Mixed:
    """Mix a voice into noise of at least its length, the voice scaled and the noise as it is (16 kHz)."""
    if len(noise) < len(voice):
        raise ValueError(f"noise of {len(noise)} samples is shorter than the voice's {len(voice)}")
    scaled = voice * np.float32(gain_for_snr(voice, _rms(noise), wanted_db))
    samples = noise.astype(np.float32, copy=True)
    samples[: len(scaled)] += scaled
    return Mixed(samples=samples, snr_db=snr_db(scaled, noise), band_snr_db=band_snr_db(scaled, noise))


def _shaped(random: np.random.Generator, length: int) -> Samples:
    hz, decibels = zip(*_BROADBAND_DB, strict=True)
    bins_hz = np.fft.rfftfreq(length, 1 / RATE_HZ)
    density = np.interp(np.log(np.maximum(bins_hz, hz[0])), np.log(hz), decibels)
    amplitude = (10 ** (density / 20)).astype(np.float32)
    amplitude[bins_hz < hz[0]] = 0.0
    return _spectrum_to_samples(random, amplitude, length)


def _orders(random: np.random.Generator, powerplant: Powerplant, length: int, load: Curve) -> Samples:
    """All orders of half the shaft speed, one rotating pointer multiplied by itself order after order."""
    rpm = 2 * int(random.integers(_RPM_RANGE[0] // 2, _RPM_RANGE[1] // 2 + 1))
    half_order_hz = (rpm // 2) / 60 * (1 - 0.002 * load)
    turns = np.cumsum(half_order_hz) / RATE_HZ
    turns *= round(turns[-1]) / turns[-1]  # whole turns in the loop: no seam
    pointer = np.exp(2j * np.pi * turns).astype(np.complex64)
    amplitudes = _order_amplitudes(powerplant) * np.exp(2j * np.pi * random.random(_HALF_ORDERS))
    total = np.zeros(length, dtype=np.complex64)
    for amplitude in amplitudes[::-1].astype(
        np.complex64
    ):  # Horner: sum of amplitude[n] * pointer ** (n + 1)
        total += amplitude
        total *= pointer
    return total.real


def _order_amplitudes(powerplant: Powerplant) -> Curve:
    """Amplitude of each half order from 1 on: weak ones everywhere, firing and blade pass on top."""
    n = np.arange(1, _HALF_ORDERS + 1)
    amplitude = 0.06 * 0.95**n
    firing, blade_pass = powerplant.cylinders, 2 * powerplant.blades
    amplitude += np.where(n % firing == 0, 0.7 * (n / firing) ** -1.2, 0.0)
    amplitude += np.where(n % blade_pass == 0, (n / blade_pass) ** -1.5, 0.0)
    return np.asarray(amplitude)


def _slow(random: np.random.Generator, length: int, below_hz: float) -> Curve:
    """A slow wander with mean 0 and deviation 1 that closes on itself over the loop."""
    cycles = np.arange(1, max(2, int(below_hz * length / RATE_HZ)) + 1)
    coarse = np.arange(0, length + 160, 160)
    turns = np.outer(coarse / length, cycles) + random.random(len(cycles))
    wander = np.cos(2 * np.pi * turns) @ (random.standard_normal(len(cycles)) / np.sqrt(cycles))
    wander = (wander - wander[:-1].mean()) / wander[:-1].std()
    return np.asarray(np.interp(np.arange(length), coarse, wander))


def _spectrum_to_samples(random: np.random.Generator, amplitude: Samples, length: int) -> Samples:
    bins = random.standard_normal((len(amplitude), 2), dtype=np.float32).view(np.complex64)[:, 0]
    return np.fft.irfft(bins * amplitude, length).astype(np.float32)


def _speech_band(samples: Samples) -> Samples:
    bins = np.fft.rfft(samples)
    hz = np.fft.rfftfreq(len(samples), 1 / RATE_HZ)
    bins[(hz < SPEECH_BAND_HZ[0]) | (hz > SPEECH_BAND_HZ[1])] = 0.0
    return np.fft.irfft(bins, len(samples)).astype(np.float32)


def _rms(samples: Samples) -> float:
    return float(np.sqrt(np.mean(samples.astype(np.float64) ** 2)))


def _unit(samples: Samples) -> Samples:
    return (samples / np.float32(_rms(samples))).astype(np.float32)
