"""The programme equals all ways tried, and costs behave as playing does.

[bellman] says why the programme is exact; here it is held to exhaustive search.
"""

from dataclasses import replace

import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.reach import sounds
from combwright.comb.seats import Seat
from combwright.playing.costs import preset
from combwright.playing.fitting import fit_layout
from combwright.playing.lines import Step, line_of
from combwright.playing.programme import play
from combwright.playing.repertoire import lowest_reed, repertoire_of
from combwright.tunes.tune import WHOLE, Tune, TuneNote
from playing.lines import (
    added_up,
    cheapest_of_all,
    random_costs,
    random_layout,
    random_line,
    seeded,
)

STANDARD = catalogue_layout("standard")


@pytest.mark.parametrize("seed", range(20))
def test_the_programme_equals_all_ways_tried_on_odd_instruments(seed):
    rng = seeded(seed)
    for _ in range(100):
        layout, costs = random_layout(rng), random_costs(rng)
        line, ways = random_line(rng, layout), sounds(layout)
        played = play(line, ways, costs)
        assert played.cost == cheapest_of_all(line, ways, costs)
        assert played.cost == added_up(line, played.ways, costs)


@pytest.mark.parametrize("seed", range(10))
def test_the_kernel_equals_the_plain_programme_in_all_24_places(seed):
    rng = seeded(1000 + seed)
    layout, costs = random_layout(rng), random_costs(rng)
    lines = [random_line(rng, layout, most=40) for _ in range(20)]
    low, ways = lowest_reed(layout), sounds(layout)
    found, places = fit_layout(repertoire_of(lines), layout, costs, low)
    for line, cost, place in zip(lines, found, places, strict=True):
        first = low - min(step.midi for step in line)
        each = [play(line, ways, costs, shift=first + lane).cost for lane in range(24)]
        assert (cost, place) == (min(each), each.index(min(each)))


def test_transposing_tune_and_instrument_together_changes_nothing():
    rng = seeded(1)
    for _ in range(200):
        layout, costs = random_layout(rng), random_costs(rng)
        line = random_line(rng, layout, most=30)
        by = rng.randint(-12, 12)
        moved = replace(layout, seats=tuple(replace(s, midi=s.midi + by) for s in layout.seats))
        here = play(line, sounds(layout), costs)
        there = play(line, sounds(moved), costs, shift=by)
        assert here.cost == there.cost


def test_a_reed_more_never_raises_the_cost():
    """Except beside another of its breath in one hole, where both speak at once."""
    rng = seeded(2)
    tried = 0
    for _ in range(500):
        layout, costs = random_layout(rng, empty=0.4), random_costs(rng)
        free = [(h, d) for h in range(1, layout.holes + 1) for d in ("upper", "lower")
                if layout.at(h, d) is None]  # fmt: skip
        if not free:
            continue
        hole, deck = rng.choice(free)
        beside = layout.in_hole(hole)
        breath = rng.choice(["blow", "draw"])
        if any(reed.breath == breath for reed in beside):
            continue
        tried += 1
        more = replace(layout, seats=(*layout.seats, Seat(hole, deck, breath, rng.randint(55, 84))))
        line = random_line(rng, more, most=30)
        assert play(line, sounds(more), costs).cost <= play(line, sounds(layout), costs).cost
    assert tried > 100


def test_what_is_missing_is_marked_and_the_rest_is_played():
    played = play([Step(60, False, True), Step(40, False, False), Step(62, False, False)],
                  sounds(STANDARD), preset("beginner"))  # fmt: skip
    assert [way and (way.hole, way.breath) for way in played.ways] == [
        (1, "blow"), None, (1, "draw"),
    ]  # fmt: skip
    assert played.cost == 8000


def test_the_same_breath_is_kept_where_a_note_can_be_had_on_both():
    """G4 is 2 draw and 3 blow: between two draw notes it is drawn, between two blow notes blown."""
    ways, costs = sounds(STANDARD), preset("intermediate")
    drawn, blown = (
        play([Step(m, False, False) for m in notes], ways, costs).ways[1]
        for notes in ((62, 67, 71), (64, 67, 72))
    )
    assert (drawn.hole, drawn.breath) == (2, "draw")
    assert (blown.hole, blown.breath) == (3, "blow")


def test_short_notes_and_phrases_come_from_lengths_and_rests():
    notes = (TuneNote(60, 0, WHOLE // 4), TuneNote(62, WHOLE // 4, WHOLE // 16),
             TuneNote(64, WHOLE, WHOLE // 4))  # fmt: skip
    line = line_of(Tune("t", notes, "t"), preset("intermediate"))
    assert line == (Step(60, False, True), Step(62, True, False), Step(64, False, True))
