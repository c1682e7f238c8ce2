"""Bounds of families are those of all their ways in plain NumPy, for tunes of any length."""

from itertools import product

import numpy as np
import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.reach import sounds
from combwright.playing.costs import preset
from combwright.playing.fitting import fit_layout
from combwright.playing.lines import Step
from combwright.playing.problem import TooDear
from combwright.playing.repertoire import LANES, lowest_reed, repertoire_of
from combwright.playing.swap_sets import SwapSpace, all_swaps, swapped
from combwright.playing.swap_states import seat_states
from combwright.playing.swapping import job_of
from combwright.playing.twos import bounds_in_twos, costs_in_twos
from combwright.playing.working import Families
from playing.lines import random_costs, random_layout, random_line, seeded


def all_ways(space, seats, notes):
    """Return every way that any layout of a family has, each taken from that layout whole."""
    found = {}
    for chosen in product(*notes):
        swaps = [
            next(swap for swap in space.swaps[seat] if swap.midi == midi)
            for seat, midi in zip(seats, chosen, strict=True)
        ]
        for midi, ways in sounds(swapped(space.layout, swaps)).items():
            found.setdefault(midi, set()).update(ways)
    return {midi: tuple(ways) for midi, ways in found.items()}


def random_family(rng, space):
    """Return some seats, and for each one of its states and the notes that it stands for."""
    swappable = [n for n, swaps in enumerate(space.swaps) if swaps]
    seats = sorted(rng.sample(swappable, min(rng.randint(1, 3), len(swappable))))
    states, notes = [], []
    for seat in seats:
        every = seat_states(space.layout.seats[seat], [swap.midi for swap in space.swaps[seat]])
        states.append(rng.randrange(1, len(every.notes)))
        notes.append(every.notes[states[-1]])
    return seats, states, notes


@pytest.mark.parametrize("seed", range(6))
def test_a_familys_bound_is_that_of_all_its_layouts_ways_together(seed):
    rng = seeded(seed)
    layout, costs = random_layout(rng, holes=3), random_costs(rng)
    space, low = SwapSpace(layout, all_swaps(layout, rng.choice([1, 2]))), lowest_reed(layout)
    lines = [random_line(rng, layout, most=12) for _ in range(4)]
    for _ in range(3):
        seats, states, notes = random_family(rng, space)
        ways = all_ways(space, seats, notes)
        for line in lines:
            repertoire = repertoire_of([line])
            table = costs_in_twos(ways, costs, low, repertoire.span + LANES)
            families = Families(np.array([seats], np.int32), np.array([states], np.int32))
            found = job_of(space, repertoire, costs).search(families, -1)
            assert found.lowest == -(-int(bounds_in_twos(line, table).min()) // 2) * 2
            assert (found.tried, len(found.sets)) == (1, 0)


def test_a_line_below_everything_and_one_above_everything():
    """Nothing is left of a family whose bound lies above the line, all of one that is below."""
    layout, costs = catalogue_layout("standard"), preset("expert")
    space = SwapSpace(layout, all_swaps(layout, 2))
    job = job_of(space, repertoire_of([random_line(seeded(3), layout, most=20)]), costs)
    families = Families(np.array([[0, 3], [4, 7]], np.int32), np.ones((2, 2), np.int32))
    whole = job.search(families, 2**61)
    assert (len(whole.sets), whole.lowest) == (32, None)
    assert sorted({tuple(row[:2]) for row in whole.sets.tolist()}) == [(0, 3), (4, 7)]
    line = int(np.median(whole.bounds))
    part = job.search(families, line)
    below = whole.bounds <= line
    assert part.sets.tolist() == whole.sets[below].tolist()
    assert part.bounds.tolist() == whole.bounds[below].tolist()
    assert part.lowest > line
    assert np.all(2 * job.totals(whole.sets) >= whole.bounds)


def test_the_longest_tune_that_is_read_is_added_up_and_a_longer_one_is_refused_in_a_line():
    """20,000 notes that are all missing, at the dearest that a missing note can be."""
    layout = catalogue_layout("standard")
    costs = random_costs(seeded(1))
    object.__setattr__(costs, "missing", 50_000)
    far = Step(1, False, False), Step(48, False, False)  # wider apart than 24 places reach
    line = tuple(far[n % 2] for n in range(20_000))
    found, _ = fit_layout(repertoire_of([line]), layout, costs, 120)
    assert found.tolist() == [20_000 * 50_000]
    with pytest.raises(TooDear, match=r"25,000 notes is too long where a missing note costs 500"):
        fit_layout(repertoire_of([line + line[:5000]]), layout, costs, 120)
