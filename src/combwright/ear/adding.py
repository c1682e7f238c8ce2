"""One reed more: where it may be beside those already found, and the best fit with it.

Another reed is looked for where the comb finds a note in what is left, in unison with one that was
found, and an octave above it. Where partials of the new one fall beside an old one's, both are
looked for anew, line by line.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from combwright.ear.finding import LOWEST_HZ, find, sharpen
from combwright.ear.growing import few, grown, thinned
from combwright.ear.several import Joint, Motion, fit_several
from combwright.ear.sound import Samples
from combwright.ear.starts import Start, starts

#: The comb's window: a longer one would slip between its teeth.
_LOOK_S: Final = 0.2
_PLACES: Final = 5
LEAST_SCORE: Final = 7.0
#: A new reed this near to a multiple of an old one is looked for line by line.
_BESIDE_CENTS: Final = 40.0
_MULTIPLES: Final = 4
_TRIED, _FINISHED = 4, 2
_COMPARED_PARTIALS: Final = 12


@dataclass(frozen=True, slots=True)
class Place:
    """Where a new reed may be: near a frequency, or where partials meet an old one's.

    Parameters
    ----------
    near_hz : float
        Of the new reed.
    beside : int or None
        Which old reed it meets.
    times : tuple of int
        Which partial of the old and of the new one meet.
    """

    near_hz: float
    beside: int | None = None
    times: tuple[int, int] = (1, 1)


@dataclass(frozen=True, slots=True)
class _Rough:
    """A fit with the first partials alone, and how many these are."""

    fit: Joint
    partials: int


def look(samples: Samples, rate: int, near_hz: float | None) -> float | None:
    """Return the clearest note of a window; None where there is none."""
    size = min(len(samples), round(_LOOK_S * rate))
    at = np.unique(np.linspace(0, len(samples) - size, _PLACES).astype(int))
    found = max(
        (find(samples[a : a + size], rate, near_hz=near_hz) for a in at),
        key=lambda each: each.score,
    )
    if found.score < LEAST_SCORE:
        return None
    return sharpen(samples, rate, found.hz, min(8, found.partials + 1), within_cents=12.0)


def added(
    samples: Samples, rate: int, now: Joint, near_hz: float | None, hums: tuple[float, ...]
) -> Joint | None:
    """Return the best fit with one reed more, or None where there is no place for one."""
    tried = [
        each
        for place in _places(rate, now, near_hz)
        if (each := _tried(samples, rate, now, place, hums))
    ]
    if len(tried) > 1:
        # All are compared in the same band, with as many partials as it holds.
        thin, slower = thinned(samples, rate, _COMPARED_PARTIALS * float(max(now.hz)))
        tried.sort(key=lambda each: _compared(thin, slower, each[0]))
    fits = [
        grown(
            samples,
            rate,
            rough.fit.hz,
            motion=rough.fit.motion,
            first=2 * rough.partials,
            hums=hums,
        )
        for rough in (tried[0] if tried else [])
    ]
    return min(fits, key=lambda fit: fit.residual, default=None)


def _compared(samples: Samples, rate: int, rough: _Rough) -> float:
    fit = fit_several(samples, rate, rough.fit.hz, motion=rough.fit.motion, steps=3)
    return price(fit, len(samples))


def price(fit: Joint, size: int) -> float:
    """Return what a fit costs: what it leaves, and each number that it takes to leave no more."""
    return size * float(np.log(max(fit.residual, 1e-30))) + fit.free * float(np.log(size))


def _places(rate: int, now: Joint, near_hz: float | None) -> Iterator[Place]:
    if near_hz is not None:
        place = beside(near_hz, now.hz)
        if place.beside is None and (heard := look(now.left, rate, near_hz)):
            place = Place(heard)
        yield place
        return
    heard = look(now.left, rate, None)
    places = [beside(heard, now.hz)] if heard else []
    for n, hz in enumerate(now.hz):
        places.append(Place(float(hz), n, (1, 1)))
        if 2 * hz < 0.4 * rate:
            places.append(Place(2 * float(hz), n, (2, 1)))
        if hz > 2 * LOWEST_HZ:
            places.append(Place(float(hz) / 2, n, (1, 2)))
    yield from {
        (p.beside, p.times if p.beside is not None else p.near_hz): p for p in places
    }.values()


def beside(near_hz: float, old_hz: Sequence[float] | Samples) -> Place:
    """Tell whether a reed's partials fall on an old one's all along, or a reed's on its."""
    for n, hz in enumerate(old_hz):
        for p in range(1, _MULTIPLES + 1):
            for times in ((p, 1), (1, p)):
                at = hz * times[0] / times[1]
                if abs(1200 * np.log2(near_hz / at)) < _BESIDE_CENTS:
                    return Place(float(at), n, times)
    return Place(near_hz)


def _tried(
    samples: Samples, rate: int, now: Joint, place: Place, hums: tuple[float, ...]
) -> list[_Rough]:
    """Return the best rough fits with a reed at a place."""
    if place.beside is None:
        hz = [*now.hz, place.near_hz]
        return [_Rough(few(samples, rate, hz, motion=now.motion, partials=2, hums=hums), 2)]
    old, (of_old, of_new) = place.beside, place.times
    meet = float(now.hz[old]) * of_old
    times = (max(place.times), 1)
    found = starts(now.voices[old] + now.left, rate, meet, times=times, most=_TRIED)
    rough = []
    for start in found:
        hz = _with(now, old, start, new_is_upper=of_old >= of_new)
        motion = Motion(np.array([start.slope]))
        many = start.partials * times[0]
        fit = few(samples, rate, hz, motion=motion, partials=many, hums=hums)
        rough.append(_Rough(fit, many))
    rough.sort(key=lambda each: each.fit.residual / each.fit.power)
    return rough[:_FINISHED]


def _with(now: Joint, old: int, start: Start, *, new_is_upper: bool) -> list[float]:
    hz = [float(f) for f in now.hz]
    pair = (start.lower_hz, start.upper_hz)
    hz[old], new = pair if new_is_upper else pair[::-1]
    return [*hz, new]
