"""What others offer to tell a pitch, each as its library has it by default.

Each is told the compass in question where it asks for one, and its frames' median is taken. Those
that are not installed are named and left out: two of them (pyworld, aubio) have to be compiled.
"""

import functools
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import import_module
from types import ModuleType

import numpy as np
from numpy.typing import NDArray

from benchmarks.heard import Row, asked, read, row
from benchmarks.reeds import disturbances, make

Samples = NDArray[np.float64]
LOW_HZ, HIGH_HZ = 75.0, 4600.0
#: The cells in which they are heard: seconds and dB.
_CELLS = [(0.1, 20), (0.5, 0), (0.5, 10), (0.5, 20), (0.5, 40), (2.0, 20)]
_DISTURBED_S, _DISTURBED_DB = 0.5, 20


@dataclass(frozen=True, slots=True)
class Listener:
    """A name, and what gives hertz for samples at a rate, or none."""

    name: str
    hear: Callable[[Samples, int], float | None]


def tell(tones: int) -> None:
    """Print how far each is off, in cents, beside the ear on the same sounds."""
    here, missing = listeners()
    print(f"\nBeside others at their own defaults, {tones} tones each: cents (wrong or none)")
    for library in missing:
        print(f"{library} is not installed: left out.")
    kinds = disturbances()[1:]
    for title in ("in noise", "disturbed, half a second at 20 dB"):
        noise = title == "in noise"
        print(f"\n{title}")
        heads = [f"{s:g} s {snr} dB" for s, snr in _CELLS] if noise else [k.name for k in kinds]
        print(f"{'':20} " + " ".join(f"{head.split(' at')[0]:>17}" for head in heads) + "   CPU")
        for name, hear in [("the ear", read), *((each.name, asked(each.hear)) for each in here)]:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                # Some compile themselves at their first call.
                hear(make(np.random.default_rng(1), 1, 0.5, 40))
                if noise:
                    found = [row(hear, tones, s, snr) for s, snr in _CELLS]
                else:
                    found = [row(hear, tones, _DISTURBED_S, _DISTURBED_DB, kind) for kind in kinds]
            cpu = float(np.mean([each.cpu for each in found]))
            print(f"{name:20} " + " ".join(map(_cell, found)) + f" {cpu:5.2f}", flush=True)


def _cell(found: Row) -> str:
    lost = len(found.heard) - len(found.right)
    return f"{found.rms:11.4f} ({lost:3d})" if found.right else f"{'none':>11} ({lost:3d})"


def listeners() -> tuple[list[Listener], list[str]]:
    """Return those that are here, and the libraries that are not."""
    here, missing = [Listener("FFT peak", fft_peak)], []
    for library, offers in (
        ("librosa", _librosa),
        ("parselmouth", _praat),
        ("pyworld", _world),
        ("aubio", _aubio),
    ):
        try:
            here += offers(import_module(library))
        except ImportError:
            missing.append(library)
    return here, missing


def fft_peak(samples: Samples, rate: int) -> float:
    """Return the highest peak of a Hann window's spectrum, a parabola through three bins."""
    power = np.log(np.abs(np.fft.rfft(samples * np.hanning(len(samples)))) + 1e-30)
    at = int(np.clip(np.argmax(power), 1, len(power) - 2))
    left, middle, right = power[at - 1 : at + 2]
    return float((at + 0.5 * (left - right) / (left - 2 * middle + right)) * rate / len(samples))


def _median(values: Samples) -> float | None:
    good = values[np.isfinite(values) & (values > 0)]
    return float(np.median(good)) if len(good) else None


def _librosa(library: ModuleType) -> Iterator[Listener]:
    def yin(x: Samples, rate: int) -> float | None:
        return _median(library.yin(x, fmin=LOW_HZ, fmax=HIGH_HZ, sr=rate))

    def pyin(x: Samples, rate: int) -> float | None:
        return _median(library.pyin(x, fmin=LOW_HZ, fmax=HIGH_HZ, sr=rate)[0])

    yield Listener("librosa yin", yin)
    yield Listener("librosa pyin", pyin)


def _praat(library: ModuleType) -> Iterator[Listener]:
    def hear(x: Samples, rate: int) -> float | None:
        pitch = library.Sound(x, sampling_frequency=rate).to_pitch(
            pitch_floor=LOW_HZ, pitch_ceiling=HIGH_HZ
        )
        return _median(pitch.selected_array["frequency"])

    yield Listener("Praat", hear)


def _world(library: ModuleType) -> Iterator[Listener]:
    def dio(x: Samples, rate: int) -> float | None:
        hz, times = library.dio(x, rate, f0_floor=LOW_HZ, f0_ceil=HIGH_HZ)
        return _median(library.stonemask(x, hz, times, rate))

    def harvest(x: Samples, rate: int) -> float | None:
        return _median(library.harvest(x, rate, f0_floor=LOW_HZ, f0_ceil=HIGH_HZ)[0])

    yield Listener("WORLD dio, stonemask", dio)
    yield Listener("WORLD harvest", harvest)


def _aubio(library: ModuleType) -> Iterator[Listener]:
    def hear(x: Samples, rate: int, method: str) -> float | None:
        window, hop = 2048, 512
        listener = library.pitch(method, window, hop, rate)
        blocks = np.asarray(x[: len(x) // hop * hop], np.float32).reshape(-1, hop)
        return _median(np.array([float(listener(block)[0]) for block in blocks]))

    for method in ("yin", "yinfft", "mcomb"):
        yield Listener(f"aubio {method}", functools.partial(hear, method=method))
