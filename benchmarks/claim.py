"""The trade's claim, on real tunes: which layouts play fiddle tunes with natural notes alone.

Shares and bends of 4,136 tunes were worked out apart from this project, by another reader and other
code; they depend on a few choices of reading, so two points either way are allowed, and no other
order. Bends are counted where a tune is put so that the fewest notes are missing, of such places
where the fewest are overbent, of those where the fewest are bent: not where playing costs least,
which is what `match` prints and is far less.
"""

from collections.abc import Iterable, Mapping
from typing import Final

import numpy as np

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.layouts import Layout
from combwright.comb.reach import Sound, sounds
from combwright.playing.repertoire import LANES, lowest_reed
from combwright.tunes.tune import MOST_NOTES, Tune

#: Percent of tunes, for each layout of the catalogue.
CLAIMED: Final = {
    "standard": 48.3,
    "fifth-draw-raised": 19.3,
    "third-blow-raised": 66.9,
    "third-blow-and-fifth-draw-raised": 45.4,
    "repeating-octave": 67.0,
}
POINTS: Final = 2.0
#: Bent notes in a hundred, and how near ours have to come.
CLAIMED_BENDS: Final = {
    "standard": 4.60,
    "fifth-draw-raised": 5.58,
    "third-blow-raised": 2.26,
    "third-blow-and-fifth-draw-raised": 2.78,
    "repeating-octave": 1.25,
}
BENDS: Final = 0.1
#: Beside each other in one number: a missing note outweighs all overbends of a tune, an overbend
#: all its bends.
_MISSING: Final = MOST_NOTES**2
_OVERBENT: Final = MOST_NOTES
_AMISS: Final = {"natural": 0, "bend": 1, "overbend": _OVERBENT, "missing": _MISSING}


def natural_share(tunes: Iterable[Tune], layout: Layout) -> float:
    """Return how many tunes in a hundred have a place where natural notes are enough."""
    low = lowest_reed(layout)
    natural = sum(1 << midi - low for midi, found in sounds(layout).items()
                  if found[0].how == "natural")  # fmt: skip
    masks = [_mask(tune) for tune in tunes]
    plays = [any(not mask << lane & ~natural for lane in range(LANES)) for mask in masks]
    return 100 * sum(plays) / len(plays)


def measured(tunes: Iterable[Tune]) -> dict[str, float]:
    """Return the shares of the layouts of the claim."""
    tunes = list(tunes)
    return {name: natural_share(tunes, catalogue_layout(name)) for name in CLAIMED}


def bends_per_100(tunes: Iterable[Tune], layout: Layout) -> float:
    """Return how many notes in a hundred are bent, each tune where least is amiss."""
    low, found = lowest_reed(layout), sounds(layout)
    tunes = list(tunes)
    width = max(max(tune.pitches) - min(tune.pitches) for tune in tunes) + 1
    hows = [_how(found, low + above) for above in range(width + LANES)]
    amiss = np.array([_AMISS[how] for how in hows], np.int64)
    bends = notes = 0
    for tune in tunes:
        heights = np.array(tune.pitches) - min(tune.pitches)
        places = amiss[heights[:, None] + np.arange(LANES)].sum(axis=0)
        bends += int(places.min()) % _OVERBENT
        notes += len(heights)
    return 100 * bends / notes


def measured_bends(tunes: Iterable[Tune]) -> dict[str, float]:
    """Return the bends of the layouts of the claim."""
    tunes = list(tunes)
    return {name: bends_per_100(tunes, catalogue_layout(name)) for name in CLAIMED_BENDS}


def _how(found: Mapping[int, tuple[Sound, ...]], midi: int) -> str:
    return found[midi][0].how if midi in found else "missing"


def _mask(tune: Tune) -> int:
    lowest = min(tune.pitches)
    mask = 0
    for midi in tune.pitches:
        mask |= 1 << midi - lowest
    return mask
