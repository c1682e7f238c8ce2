"""Tab against a table of the standard layout, and as text, phrases and costs that add up.

The table was drawn up apart from this project from [oeis-a291810] and [bahnson-1998].
"""

from dataclasses import replace

import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.layouts import Layout
from combwright.comb.reach import sounds
from combwright.notes.names import parse_midi
from combwright.playing.costs import PRESETS, preset
from combwright.playing.tabbing import (
    NEAREST,
    OCTAVES,
    breathing,
    explain,
    tab,
    tab_text,
    way_text,
)
from combwright.tunes.tune import WHOLE, Tune, TuneNote
from playing.lines import random_layout, seeded
from published import rows

STANDARD = sounds(catalogue_layout("standard"))
COSTS = preset("intermediate")
QUARTER = WHOLE // 4


def tune_of(*midis, lengths=None, gaps=()):
    """Return a tune of quarter notes, with a rest of a quarter before the notes of `gaps`."""
    notes, start = [], 0
    for n, midi in enumerate(midis):
        start += QUARTER if n in gaps else 0
        length = lengths[n] if lengths else QUARTER
        notes.append(TuneNote(midi, start, length))
        start += length
    return Tune("t", tuple(notes), "t.abc")


def printed():
    """Return for each note of the table its tab, easiest first: natural, bent, overbent."""
    found = {}
    for row in rows("standard_bends.csv"):
        hole = row["hole"]
        over = "-" if row["overbend_kind"] == "overdraw" else ""
        bends = row["bends"].split()
        sign = "-" if row["bend_breath"] == "draw" else ""
        for rank, note, text in (
            (0, row["blow"], hole), (0, row["draw"], f"-{hole}"),
            *((n, note, f"{sign}{hole}" + "'" * n) for n, note in enumerate(bends, start=1)),
            (9, row["overbend"], f"{over}{hole}^"),
        ):  # fmt: skip
            found.setdefault(parse_midi(note), []).append((rank, text))
    return found


@pytest.mark.parametrize("name", PRESETS)
def test_a_single_note_is_played_as_the_table_has_it_and_in_the_easiest_way(name):
    table = printed()
    assert len(table) > 36
    for midi in range(50, 105):
        (way,) = tab(tune_of(midi), STANDARD, preset(name)).ways
        ranked = table.get(midi, [(0, "?")])
        easiest = min(rank for rank, _ in ranked)
        assert way_text(way) in {text for rank, text in ranked if rank == easiest}


@pytest.mark.parametrize(
    ("notes", "holes"),
    [
        ("C5 D5 E5 F5 G5 A5 B5 C6", "4 -4 5 -5 6 -6 -7 7"),  # first position
        ("G4 A4 B4 C5 D5 E5 F5 G5", "-2 -3'' -3 4 -4 5 -5 6"),  # second position, mixolydian
        ("D4 F4 F#4 G4 A4 B4 D5", "-1 -2'' -2' -2 -3'' -3 -4"),
        ("G6 A6 B6 C7 F#6 E6 Eb6", "9 -10 10' 10 9' 8 8'"),  # blow bends of the top
    ],
)
def test_scales_are_played_where_players_play_them(notes, holes):
    """Common practice."""
    found = tab(tune_of(*map(parse_midi, notes.split())), STANDARD, COSTS)
    assert " ".join(map(way_text, found.ways)) == holes


def test_what_a_tab_costs_is_made_of_parts_that_add_up_on_odd_instruments():
    rng = seeded(3)
    for _ in range(60):
        layout = random_layout(rng)
        midis = [rng.randint(50, 90) for _ in range(rng.randint(1, 20))]
        tune = tune_of(*midis, gaps={n for n in range(1, len(midis)) if rng.random() < 0.2})
        costs = preset(rng.choice(PRESETS))
        found = tab(tune, sounds(layout), costs, OCTAVES)
        assert sum(explain(found, costs).values()) == found.cost
        assert found.bends + found.overbends + found.unplayable <= len(midis)


def test_of_shifts_that_cost_the_same_the_nearest_is_taken():
    low = tune_of(48, 52, 55)  # C3 E3 G3, an octave below the lowest reed
    assert tab(low, STANDARD, COSTS).unplayable == 3
    assert tab(low, STANDARD, COSTS, OCTAVES).shift == 12
    assert tab(tune_of(60, 64, 67), STANDARD, COSTS, NEAREST).shift == 0


def test_a_tune_wider_than_any_instrument_keeps_what_can_be_played():
    found = tab(tune_of(12, 60, 120, 72), STANDARD, COSTS, NEAREST)
    assert [way is None for way in found.ways].count(False) == 2
    assert tab_text(found).splitlines()[1].split().count("?") == 2


@pytest.mark.parametrize("layout", [Layout("none", (), holes=1), Layout("empty", (), holes=10)])
def test_an_instrument_without_reeds_plays_nothing_and_says_so(layout):
    found = tab(tune_of(60, 62), sounds(layout), COSTS)
    assert (found.unplayable, found.cost) == (2, 2 * COSTS.missing)
    assert breathing(found, COSTS).one_breath == 0


def test_lines_are_no_wider_than_a_terminal_and_lose_no_note():
    layout = catalogue_layout("standard")
    high = replace(layout, seats=tuple(replace(s, midi=s.midi + 12) for s in layout.seats))
    found = tab(tune_of(*[80, 81, 79, 106] * 25), sounds(high), COSTS)
    lines = tab_text(found).splitlines()
    assert max(map(len, lines)) <= 79
    holes = " ".join(lines[1::3]).split()
    assert holes == [way_text(way) for way in found.ways]
    assert all(len(line.split()) <= 16 for line in lines)


def test_phrases_are_parted_by_rests_and_those_in_one_breath_are_counted():
    tune = tune_of(60, 64, 60, 60, 62, 72, 40, gaps={3, 5})
    found = breathing(tab(tune, STANDARD, COSTS), COSTS)
    assert (found.phrases, found.one_breath, found.changes) == (3, 2, 1)
    short = tune_of(60, 62, lengths=[QUARTER, QUARTER])
    assert breathing(tab(short, STANDARD, COSTS), COSTS).phrases == 1
