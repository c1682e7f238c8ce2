"""Makes the compiled loops ready, so that what follows is not kept waiting by a compiler."""

import time

from combwright.comb.layouts import Layout
from combwright.comb.seats import Seat
from combwright.playing.costs import USUAL, preset
from combwright.playing.lines import Step
from combwright.playing.repertoire import repertoire_of
from combwright.playing.swap_sets import SwapSpace, all_swaps
from combwright.playing.swapping import search


def made_ready() -> float | None:
    """Load or compile what a search needs; return the seconds where it had to be compiled."""
    from combwright.playing.compiling import kept_in
    from combwright.playing.families import search_families

    start = time.perf_counter()
    layout = Layout("one reed", (Seat(1, "upper", "blow", 60),), holes=1)
    tune = (Step(60, False, True), Step(62, False, False))
    space = SwapSpace(layout, all_swaps(layout, 1))
    search(space, repertoire_of([tune]), preset(USUAL), most=1, threads=1)
    missed = kept_in() is None or search_families.stats.cache_misses
    return time.perf_counter() - start if missed else None
