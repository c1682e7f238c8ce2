"""The notes of a take, each given to a place in the order of playing.

Most places are told by pitch alone. Places that share a pitch are told by the order; so are reeds
that sit in each other's places, as long as most of the take keeps to the order.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

#: Seats this near to each other share a pitch.
SAME_CENTS: Final = 60.0
_GAP, _OTHER = 1.0, 1.4
_KEEPS: Final = 0.6


@dataclass(frozen=True, slots=True)
class Seated:
    """Where notes belong.

    Parameters
    ----------
    places : tuple of (int or None, bool)
        For each note its place in the order, and whether that is unsure.
    interchanged : tuple of (int, int)
        Pairs of places whose notes have each other's pitch.
    in_order : bool
        Whether most notes came in the order of playing.
    """

    places: tuple[tuple[int | None, bool], ...]
    interchanged: tuple[tuple[int, int], ...]
    in_order: bool


def seated(order_hz: Sequence[float], heard_hz: Sequence[float]) -> Seated:
    """Give each note its place, from the pitches that were to be played and those heard."""
    off = 1200 * np.log2(np.divide.outer(np.asarray(heard_hz, float), np.asarray(order_hz, float)))
    same = np.abs(off) < SAME_CENTS
    aligned = _aligned(same)
    in_order = sum(p is not None and bool(same[n, p]) for n, p in enumerate(aligned))
    keeps = len(heard_hz) > 0 and in_order >= _KEEPS * len(heard_hz)
    swapped = _swapped(aligned, same) if keeps else []
    twisted = {place for pair in swapped for place in pair}
    given: list[tuple[int | None, bool]] = []
    times: dict[int, int] = defaultdict(int)
    for note, place in enumerate(aligned):
        if keeps and place is not None and (same[note, place] or place in twisted):
            given.append((place, False))
            times[place] += 1
            continue
        fitting = [int(p) for p in np.flatnonzero(same[note])]
        fresh = [p for p in fitting if p not in set(aligned) or not keeps]
        choice = min(fresh or fitting, key=lambda p: (times[p], abs(off[note, p])), default=None)
        if choice is not None:
            times[choice] += 1
        given.append((choice, len(fitting) > 1))
    if keeps:
        _split_alike(given, order_hz, heard_hz)
    return Seated(tuple(given), tuple(swapped), keeps)


def _split_alike(
    given: list[tuple[int | None, bool]], order_hz: Sequence[float], heard_hz: Sequence[float]
) -> None:
    """Tell by fine pitch which of two places alike was played again; nothing else can tell."""
    pitch = 1200 * np.log2(np.asarray(heard_hz, float))
    for first in range(len(order_hz) - 1):
        if abs(1200 * np.log2(order_hz[first + 1] / order_hz[first])) > SAME_CENTS:
            continue
        notes = [n for n, (place, _) in enumerate(given) if place in (first, first + 1)]
        if len(notes) < 3:
            continue
        cents = pitch[notes]
        cuts = range(1, len(notes))
        spread = [np.var(cents[:k]) * k + np.var(cents[k:]) * (len(notes) - k) for k in cuts]
        best = cuts[int(np.argmin(spread))]
        for k, note in enumerate(notes):
            given[note] = (first + (k >= best), True)


def _aligned(same: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> list[int | None]:
    """Align notes with the order; a note that repeats the one before costs little."""
    notes, places = same.shape
    cost = np.full((notes + 1, places + 1), np.inf)
    cost[0] = np.arange(places + 1) * _GAP
    way = np.zeros((notes + 1, places + 1), np.int8)
    for n in range(1, notes + 1):
        for p in range(places + 1):
            again = 0.5 if p and same[n - 1, p - 1] else _GAP
            options = [cost[n - 1, p] + again]
            options.append(cost[n, p - 1] + _GAP if p else np.inf)
            match = 0.0 if p and same[n - 1, p - 1] else _OTHER
            options.append(cost[n - 1, p - 1] + match if p else np.inf)
            way[n, p] = int(np.argmin(options))
            cost[n, p] = min(options)
    found: list[int | None] = [None] * notes
    n, p = notes, places
    while n:
        step = way[n, p]
        if step == 1:
            p -= 1
            continue
        n -= 1
        if step == 2:
            p -= 1
            found[n] = p
        elif p and same[n, p - 1]:
            found[n] = p - 1
    return found


def _swapped(
    aligned: Sequence[int | None], same: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
) -> list[tuple[int, int]]:
    """Return pairs of places whose notes have each other's pitch and not their own."""
    at = {place: note for note, place in enumerate(aligned) if place is not None}
    odd = [place for place, note in at.items() if not same[note, place]]
    return [
        (a, b)
        for index, a in enumerate(sorted(odd))
        for b in sorted(odd)[index + 1 :]
        if same[at[a], b] and same[at[b], a]
    ]
