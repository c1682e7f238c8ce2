"""Makes the compiled loops ready, so that what follows is not kept waiting by a compiler."""

import time

from combwright.comb.layouts import Layout
from combwright.comb.seats import Seat
from combwright.playing.costs import USUAL, preset
from combwright.playing.lines import Step
from combwright.playing.repertoire import repertoire_of
from combwright.playing.swap_sets import SwapSpace, all_swaps
from combwright.playing.swapping import search


def made_ready() -> float:
    """Search with one reed and one tune, which compiles everything; return the seconds it took.

    Where the loops are kept from an earlier run, that is as long as loading them takes.
    """
    start = time.perf_counter()
    layout = Layout("one reed", (Seat(1, "upper", "blow", 60),), holes=1)
    tune = (Step(60, False, True), Step(62, False, False))
    space = SwapSpace(layout, all_swaps(layout, 1))
    search(space, repertoire_of([tune]), preset(USUAL), most=1, threads=1)
    return time.perf_counter() - start
