"""The swap search equals full enumeration by the plain programme, ties and odd bases included."""

from dataclasses import replace

import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.playing.costs import preset
from combwright.playing.lines import Step
from combwright.playing.repertoire import repertoire_of
from combwright.playing.swap_sets import SwapSpace, all_swaps
from combwright.playing.swapping import search
from playing.lines import enumerated, random_layout, random_line, seeded

COSTS = preset("intermediate")


def plain(notes):
    return tuple(Step(midi, False, n == 0) for n, midi in enumerate(notes))


#: Tunes of one note or of none the instrument has, twice the same, and such as cost nothing.
TIES = [plain([60]), plain([60]), plain([60, 61]), plain([60, 61]), plain([60, 64, 67, 64])]


@pytest.mark.parametrize("size", [1, 2])
@pytest.mark.parametrize("kind", ["three holes", "odd", "ties"])
def test_the_search_equals_full_enumeration(size, kind):
    rng = seeded(size)
    whole = catalogue_layout("standard")
    base = replace(whole, holes=3, seats=tuple(s for s in whole.seats if s.hole <= 3))
    if kind == "odd":
        base = random_layout(rng, holes=3)
    lines = TIES if kind == "ties" else [random_line(rng, base, most=8) for _ in range(4)]
    space = SwapSpace(base, all_swaps(base, 1))
    found = search(space, repertoire_of(lines), COSTS, most=size, keep=4)[size]
    assert found.candidates == found.bounded == len(list(space.sets(size)))
    assert found.evaluated <= found.candidates
    expected = enumerated(space, lines, COSTS, size)[:4]
    assert [(each.cost, each.swaps) for each in found.best] == expected
    assert found.lowest_left is None or found.lowest_left + 1 > expected[-1][0]


def test_single_swaps_of_the_whole_standard_layout_equal_enumeration():
    rng = seeded(5)
    base = catalogue_layout("standard")
    lines = [random_line(rng, base, most=5) for _ in range(2)]
    space = SwapSpace(base, all_swaps(base, 2))
    found = search(space, repertoire_of(lines), COSTS, most=1)[1]
    assert found.candidates == 80
    expected = enumerated(space, lines, COSTS, 1)[:5]
    assert [(each.cost, each.swaps) for each in found.best] == expected


@pytest.mark.parametrize(("size", "count"), [(1, 80), (2, 3040), (3, 72_960), (4, 1_240_320)])
def test_twenty_reeds_give_as_many_sets_as_can_be_counted_by_hand(size, count):
    base = catalogue_layout("standard")
    assert SwapSpace(base, all_swaps(base, 2)).count(size) == count


def test_the_answer_is_the_same_on_one_thread_and_on_many():
    rng = seeded(3)
    base = catalogue_layout("standard")
    tunes = repertoire_of([random_line(rng, base, most=30) for _ in range(20)])
    space = SwapSpace(base, all_swaps(base, 2))
    one, many = (search(space, tunes, COSTS, most=2, threads=n) for n in (1, 4))
    assert one == many
