"""The search equals full enumeration by the plain programme, on odd bases and where much is equal.

Of sets that cost the same the first in the order of seats and notes counts as best: so a set that
comes late, or is found first, must not push an earlier one out.
"""

from dataclasses import replace

import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.layouts import Layout
from combwright.comb.seats import Seat
from combwright.playing.costs import preset
from combwright.playing.lines import Step
from combwright.playing.repertoire import repertoire_of
from combwright.playing.swap_sets import SwapSpace, all_swaps
from combwright.playing.swapping import search
from playing.lines import enumerated, random_costs, random_layout, random_line, seeded

USUAL = preset("intermediate")
#: Neither breath nor holes cost anything, and every bend the same: most sets are equal.
EVEN = replace(USUAL, bend=(100,), overbend=100, along=0, short_times=100,
               change=0, change_after_rest=0, hole=0, hole_most=0)  # fmt: skip
#: Nothing costs anything but a missing note.
FREE = replace(EVEN, bend=(0,), overbend=0)


def cut(name, first, last):
    """Return some holes of a layout of the catalogue, numbered from 1."""
    whole = catalogue_layout(name)
    seats = tuple(
        replace(seat, hole=seat.hole - first + 1)
        for seat in whole.seats
        if first <= seat.hole <= last
    )
    return replace(whole, seats=seats, holes=last - first + 1)


TWINS = Layout("twins", tuple(
    Seat(hole, deck, breath, midi)
    for hole in (1, 2, 3)
    for deck, breath, midi in (("upper", "blow", 60), ("lower", "draw", 62))
), holes=3)  # fmt: skip
BASES = {
    "standard, low": cut("standard", 1, 3),
    "standard, high": cut("standard", 8, 10),
    "repeating": cut("repeating-octave", 3, 5),
    "three holes alike": TWINS,
}
TUNES = {
    "one note": [(Step(60, False, True),)],
    "the same over and over": [tuple(Step(60, False, False) for _ in range(9))] * 3,
    "two alike and one more": [tuple(Step(m, False, False) for m in notes)
                               for notes in ((60, 62), (60, 62), (64, 65, 67, 60))],
}  # fmt: skip


def check(base, lines, costs, size, *keeps, by=1):
    space = SwapSpace(base, all_swaps(base, by))
    expected = enumerated(space, lines, costs, size)
    for keep in keeps:
        found = search(space, repertoire_of(lines), costs, most=size, keep=keep)[size]
        assert [(each.cost, each.swaps) for each in found.best] == expected[:keep]
        assert found.candidates == found.bounded == len(expected)
        if found.evaluated < len(expected):
            assert found.best[-1].cost <= found.lowest_left + 1
            assert found.lowest_left <= expected[-1][0]
        else:
            assert found.lowest_left is None
    return len(expected)


@pytest.mark.parametrize("costs", [USUAL, EVEN, FREE], ids=["usual", "even", "free"])
@pytest.mark.parametrize("base", BASES)
def test_where_much_is_equal_the_first_sets_win(base, costs):
    for lines in TUNES.values():
        check(BASES[base], lines, costs, 1, 3)
        check(BASES[base], lines, costs, 2, 1, 5)


@pytest.mark.parametrize("seed", range(6))
def test_odd_instruments_and_odd_players(seed):
    rng = seeded(seed)
    base, costs = random_layout(rng, holes=3), random_costs(rng)
    lines = [random_line(rng, base, most=8) for _ in range(3)]
    for size in (1, 2):
        check(base, lines, costs, size, 4, by=rng.choice([1, 2]))


def test_three_swaps_and_every_one_of_them_asked_for():
    """More are asked for than there are, so nothing may be left out."""
    base = cut("standard", 4, 5)
    lines = [random_line(seeded(9), base, most=6)]
    assert check(base, lines, USUAL, 3, 2, 1000) == 32


def test_seats_without_swaps_are_left_alone():
    space = SwapSpace(TWINS, tuple(
        found if n in (1, 4) else () for n, found in enumerate(all_swaps(TWINS, 2))
    ))  # fmt: skip
    lines = TUNES["two alike and one more"]
    for size, candidates in ((1, 8), (2, 16), (3, 0)):
        found = search(space, repertoire_of(lines), USUAL, most=size)[size]
        expected = enumerated(space, lines, USUAL, size)[:5]
        assert found.candidates == candidates
        assert [(each.cost, each.swaps) for each in found.best] == expected
