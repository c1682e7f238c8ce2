"""The trade's claim on the public collections of fiddle tunes, read by our reader.

The shares were worked out apart from this project from the tunes that [music21] carries.
"""

import pytest
from benchmarks.claim import BENDS, CLAIMED, CLAIMED_BENDS, POINTS, measured, measured_bends
from benchmarks.collections import read_collections

from combwright.comb.catalogue import catalogue_layout
from combwright.playing.costs import preset
from combwright.playing.lines import line_of
from combwright.playing.repertoire import repertoire_of
from combwright.playing.swap_sets import SwapSpace, all_swaps
from combwright.playing.swapping import search


@pytest.fixture(scope="module")
def fiddle_tunes():
    reading = read_collections()
    assert reading.faults == ()
    return reading.tunes


def test_the_collections_are_read_whole(fiddle_tunes):
    assert len(fiddle_tunes) == 2009 + 1059 + 1180
    assert all(tune.notes for tune in fiddle_tunes)


def test_shares_of_tunes_with_natural_notes_alone_are_those_claimed_and_in_that_order(fiddle_tunes):
    found = measured(fiddle_tunes)
    assert found == pytest.approx(CLAIMED, abs=POINTS)
    assert sorted(found, key=found.get) == sorted(CLAIMED, key=CLAIMED.get)


def test_bends_in_a_hundred_notes_are_those_claimed(fiddle_tunes):
    assert measured_bends(fiddle_tunes) == pytest.approx(CLAIMED_BENDS, abs=BENDS)


@pytest.mark.parametrize("player", ["beginner", "intermediate", "expert"])
def test_the_third_blow_raised_is_the_best_of_all_single_swaps(fiddle_tunes, player):
    base, costs = catalogue_layout("standard"), preset(player)
    lines = [line_of(tune, costs) for tune in fiddle_tunes[::12]]
    space = SwapSpace(base, all_swaps(base, 2))
    found = search(space, repertoire_of(lines), costs, most=1)[1]
    assert [swap.text for swap in found.best[0].swaps] == ["3 blow=A4"]
