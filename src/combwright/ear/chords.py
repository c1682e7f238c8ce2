"""Which notes a chord holds: the few combs that together leave the fewest lines unexplained.

Notes of a chord have a common root far below, on whose comb all their lines lie. It is told from
the notes by the teeth it misses. So sets of notes are compared as wholes: what the lines that they
cover bring, less what their missing teeth cost. Reeds in unison or an octave apart look like one.
"""

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.finding import HIGHEST_HZ, LOWEST_HZ, standing
from combwright.ear.sound import Samples

#: Logarithms of power over noise: a line, what a missing tooth costs, and the most a line brings.
_LINE: Final = 4.5
_ABSENT: Final = 2.6
_MOST: Final = 7.0
#: A further note must bring this much.
_WORTH: Final = 5.0
#: Sets whose scores are this near to the best one's are kept beside it.
_NEAR: Final = 20.0
_SETS: Final = 4
_BESIDE_CENTS: Final = 40.0
_HIGHEST_LINE_HZ: Final = 16_000.0
_LINES, _SOURCES, _DIVISORS, _NOTES = 120, 24, 3, 36
_SAME_CENTS: Final = 12.0
_REACH: Final = 1.5


@dataclass(frozen=True, slots=True)
class _Note:
    hz: float
    covers: NDArray[np.bool_]
    missing: float


def notes_in(
    samples: Samples, rate: int, most: int, *, beside_hz: tuple[float, ...] = ()
) -> list[tuple[float, ...]]:
    """Return sets of distinct notes that a sound may hold, fewest notes first.

    Parameters
    ----------
    samples : array, shape (n,)
        From 0.2 s on.
    most : int
        How many notes at most.
    beside_hz : tuple of float
        Lines that belong to no reed, such as hum.
    """
    stands, _, size = standing(samples, rate)
    seconds = len(samples) / rate
    lines, worth = _lines(stands, rate / size, seconds, beside_hz)
    notes = _notes(stands, rate / size, seconds, lines, worth)
    found: list[tuple[float, ...]] = []
    before = 0.0
    for count in range(1, most + 1):
        score, chosen = _best(notes, worth, count)
        if score < before + _WORTH:
            break
        before = score
        found += [tuple(sorted(note.hz for note in each)) for each in chosen]
    return found


def _multiples(a_hz: float, b_hz: float) -> bool:
    """Tell whether a note lies on a multiple of another: it may be that one's partials."""
    ratio = max(a_hz, b_hz) / min(a_hz, b_hz)
    return bool(abs(1200 * np.log2(ratio / round(ratio))) < _BESIDE_CENTS)


def _lines(
    stands: Samples, step: float, seconds: float, beside_hz: tuple[float, ...]
) -> tuple[Samples, Samples]:
    """Return where lines stand out of the noise, strongest first, and what each is worth."""
    apart = max(1, round(1.5 / seconds / step))
    top = min(len(stands) - 1, round(_HIGHEST_LINE_HZ / step))
    inner = stands[:top]
    tops = [
        k
        for k in np.flatnonzero(inner > _LINE)
        if inner[k] >= inner[max(0, k - apart) : k + apart + 1].max() and k * step > LOWEST_HZ / 2
    ]
    hz = np.array(tops) * step
    clear = [
        k for k, f in zip(tops, hz, strict=True) if all(abs(f - b) > 2 / seconds for b in beside_hz)
    ]
    clear = [k for n, k in enumerate(clear) if n == 0 or k - clear[n - 1] > apart]
    order = sorted(clear, key=lambda k: -inner[k])[:_LINES]
    worth = np.minimum(inner[order], _MOST) - _ABSENT
    return np.array(order, float) * step, np.asarray(worth, float)


def _notes(
    stands: Samples, step: float, seconds: float, lines: Samples, worth: Samples
) -> list[_Note]:
    found: list[_Note] = []
    lowest = np.sort(lines)[:_SOURCES]
    for line in dict.fromkeys([*lines[:_SOURCES], *lowest]):
        for m in range(1, _DIVISORS + 1):
            hz = line / m
            if LOWEST_HZ <= hz <= HIGHEST_HZ:
                found.append(_note(stands, step, seconds, lines, hz))
    found.sort(key=lambda note: note.missing - float(note.covers @ worth))
    kept: list[_Note] = []
    for note in found:
        if all(abs(1200 * np.log2(note.hz / other.hz)) > _SAME_CENTS for other in kept):
            kept.append(note)
    return kept[:_NOTES]


def _note(stands: Samples, step: float, seconds: float, lines: Samples, hz: float) -> _Note:
    """Sharpen a note on the spectrum, partial by partial, and see which lines it covers."""
    many = max(1, min(24, int(min(_HIGHEST_LINE_HZ, (len(stands) - 2) * step) / hz)))
    for reach in (3, 6, 12):
        h = np.arange(1, min(many, reach) + 1)
        half = 1.0 / seconds / len(h)
        grid = hz + np.linspace(-half, half, 9)
        bins = np.round(np.outer(grid, h) / step).astype(int)
        values = stands[np.minimum(bins, len(stands) - 1)]
        best = np.minimum(values, 12).sum(axis=1)
        hz = float(grid[best >= best.max() - 1e-9].mean())
    h = np.arange(1, many + 1)
    bins = np.minimum(np.round(hz * h / step).astype(int), len(stands) - 1)
    there = stands[bins] > _ABSENT
    last = int(np.flatnonzero(there)[-1]) + 1 if there.any() else 1
    missing = _ABSENT * float(np.sum(~there[:last]))
    nearest = np.round(lines / hz)
    covers = (nearest >= 1) & (nearest <= last) & (np.abs(lines - nearest * hz) < _REACH / seconds)
    return _Note(hz, covers, missing)


def _best(notes: list[_Note], worth: Samples, count: int) -> tuple[float, list[tuple[_Note, ...]]]:
    """Return the best score of so many notes, and the sets that come near it."""
    clash = [
        (a, b)
        for a, b in itertools.combinations(range(len(notes)), 2)
        if _multiples(notes[a].hz, notes[b].hz)
    ]
    apart = set(clash)
    sets = np.array(
        [
            each
            for each in itertools.combinations(range(len(notes)), count)
            if apart.isdisjoint(itertools.combinations(each, 2))
        ],
        int,
    )
    if not len(sets):
        return -np.inf, []
    covers = np.array([note.covers for note in notes])
    missing = np.array([note.missing for note in notes])
    together = covers[sets[:, 0]]
    for column in range(1, count):
        together = together | covers[sets[:, column]]
    scores = together @ worth - missing[sets].sum(axis=1)
    order = np.argsort(-scores)[:_SETS]
    near = [n for n in order if scores[n] > scores[order[0]] - _NEAR]
    return float(scores[order[0]]), [tuple(notes[k] for k in sets[n]) for n in near]
