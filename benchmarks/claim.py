"""The trade's claim, on real tunes: which layouts play fiddle tunes with natural notes alone.

Shares of 4,136 tunes were worked out apart from this project, by another reader and other code;
they depend on a few choices of reading, so two points either way are allowed, and no other order.
"""

from collections.abc import Iterable
from typing import Final

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.layouts import Layout
from combwright.comb.reach import sounds
from combwright.playing.repertoire import LANES, lowest_reed
from combwright.tunes.tune import Tune

#: Percent of tunes, for each layout of the catalogue.
CLAIMED: Final = {
    "standard": 48.3,
    "fifth-draw-raised": 19.3,
    "third-blow-raised": 66.9,
    "third-blow-and-fifth-draw-raised": 45.4,
    "repeating-octave": 67.0,
}
POINTS: Final = 2.0


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


def _mask(tune: Tune) -> int:
    lowest = min(tune.pitches)
    mask = 0
    for midi in tune.pitches:
        mask |= 1 << midi - lowest
    return mask
