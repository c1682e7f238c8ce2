"""What is measured of each note of a take, to be compared with the same note of another.

Level, spectrum, pitch and its steadiness are those of the held note, after the onset has settled;
attack is that of the onset. A note that was played several times is measured each time.
"""

import itertools
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Generic

import numpy as np

from combwright.ear.attack import attack_s
from combwright.ear.loudness import weigh, weighted_loudness
from combwright.ear.seating import SAME_CENTS
from combwright.ear.sound import Samples, Sound
from combwright.ear.stretches import Stretch, stretches
from combwright.ear.takes import Heard, S, Take, Target, hear_take
from combwright.ear.third_octaves import HIGHEST_BAND, LOWEST_BAND, band_levels_db, edges_hz

_LEAST_ROOM_S: Final = 0.1
_NOTHING_DB: Final = -200.0
#: Recorders and changes of rate filter what comes nearer to half the rate.
_HELD_SHARE: Final = 0.45


@dataclass(frozen=True, slots=True)
class Played:
    """One note, played once.

    Parameters
    ----------
    level_lkfs : float
        Its loudness [bs1770]; minus infinity where it is too quiet, below -70.
    bands_db, room_db : array, shape (20,)
        Level in third octaves [iec-61260], of the note and of the take where nothing is played;
        -200 where there is nothing, or no silence to tell.
    cents, sd_cents : float
        From the seat's target, and the standard error of that.
    spread_cents : float
        How far tenths of a second stray: steadiness.
    attack_ms : float or None
        From a tenth to nine tenths of its level; None where the onset is hidden.
    unsure : bool
        Whether the note may belong to another seat, or to another octave.
    """

    level_lkfs: float
    bands_db: Samples
    room_db: Samples
    cents: float
    sd_cents: float
    spread_cents: float
    attack_ms: float | None
    unsure: bool


@dataclass(frozen=True, slots=True)
class Measured(Generic[S]):
    """What one instrument played in one or several takes, seat by seat."""

    played: Mapping[S, tuple[Played, ...]]


def together(takes: Sequence[Measured[S]]) -> Measured[S]:
    """Return several takes of one instrument as one."""
    found: dict[S, tuple[Played, ...]] = {}
    for take in takes:
        for seat, played in take.played.items():
            found[seat] = (*found.get(seat, ()), *played)
    return Measured(found)


def measure_take(sound: Sound, order: Sequence[Target[S]]) -> Measured[S]:
    """Measure every note of a take.

    Parameters
    ----------
    order : sequence of Target
        Every seat once, as they were to be played. Each may be played several times: one after
        the other, or the whole order again.
    """
    weighted, room = weigh(sound), _room_db(sound)
    found: dict[S, tuple[Played, ...]] = {}
    before_s = 0.0
    for note in _shared_out(hear_take(sound, order), order):
        once = _played(sound, weighted, room, note, before_s)
        found[note.seat] = (*found.get(note.seat, ()), once)
        before_s = note.stretch.end_s
    return Measured(found)


def _played(
    sound: Sound, weighted: Sound, room: Samples, note: Heard[S], before_s: float
) -> Played:
    held = note.stretch.settled()
    attack = attack_s(sound, note.stretch, note.reading.hz, not_before_s=before_s)
    return Played(
        weighted_loudness(weighted.part(held.start_s, held.end_s)),
        _bands_db(sound.part(held.start_s, held.end_s)),
        room,
        note.cents,
        note.reading.sd_cents,
        note.reading.spread_cents,
        None if attack is None else 1000 * attack,
        note.unsure,
    )


def _room_db(sound: Sound) -> Samples:
    """Return the spectrum of the longest silence; where there is none, of nothing."""
    ends = [0.0, *(each.end_s for each in stretches(sound))]
    starts = [*(each.start_s for each in stretches(sound)), sound.seconds]
    gaps = [Stretch(a, b) for a, b in zip(ends, starts, strict=True)]
    longest = max(gaps, key=lambda gap: gap.seconds)
    if longest.seconds < _LEAST_ROOM_S:
        return np.full(HIGHEST_BAND - LOWEST_BAND + 1, _NOTHING_DB)
    inner = longest.seconds / 4
    return _bands_db(sound.part(longest.start_s + inner, longest.end_s - inner))


def _bands_db(sound: Sound) -> Samples:
    """Return levels of the bands that the rate holds whole; -200 in the others."""
    tops = np.array([edges_hz(band)[1] for band in range(LOWEST_BAND, HIGHEST_BAND + 1)])
    return np.where(tops < _HELD_SHARE * sound.rate, band_levels_db(sound), _NOTHING_DB)


def _shared_out(take: Take[S], order: Sequence[Target[S]]) -> Iterator[Heard[S]]:
    """Yield every note in time; repeats of neighbours that share a pitch go to each in turn.

    Where the others were played n times each and such neighbours as often together, a run of
    their notes is shared out evenly, in their order; else all of them are unsure.
    """
    notes = sorted((*take.notes, *take.again), key=lambda note: note.stretch.start_s)
    times = Counter(note.seat for note in notes)
    usual = int(np.median(list(times.values()))) if times else 0
    group_of = {target.seat: group for group in _sharing(order) for target in group}
    for group, run in itertools.groupby(notes, key=lambda note: group_of.get(note.seat)):
        if group is None or usual < 2:
            yield from run
            continue
        played = list(run)
        whole = sum(times[target.seat] for target in group) == usual * len(group)
        if not whole or len(played) % len(group):
            yield from (replace(note, unsure=True) for note in played)
            continue
        each = len(played) // len(group)
        for n, note in enumerate(played):
            target = group[n // each]
            off = float(1200 * np.log2(note.reading.hz / target.hz))
            yield replace(note, seat=target.seat, cents=off, unsure=note.reading.unsure)


def _sharing(order: Sequence[Target[S]]) -> Iterator[tuple[Target[S], ...]]:
    """Yield runs of the order in which every seat has the pitch of the one before."""
    run: list[Target[S]] = []
    for target in order:
        if run and abs(1200 * np.log2(target.hz / run[-1].hz)) >= SAME_CENTS:
            if len(run) > 1:
                yield tuple(run)
            run = []
        run.append(target)
    if len(run) > 1:
        yield tuple(run)
