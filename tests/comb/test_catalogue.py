"""The catalogue's layouts against published notes and the principles they state."""

import pytest

from combwright.comb.catalogue import NoSuchLayout, aliases, catalogue_layout, layout_ids
from combwright.comb.changes import apply_changes, parse_changes
from combwright.comb.seats import USUAL_DECK
from combwright.notes.keys import ORDINARY_KEYS, parse_key
from combwright.notes.names import note_name, parse_midi
from published import rows

# The ids of the contract on formats.
CONTRACT = {
    "standard",
    "fifth-draw-raised",
    "fifth-and-ninth-draw-raised",
    "third-blow-raised",
    "third-blow-and-fifth-draw-raised",
    "third-draw-lowered",
    "third-and-seventh-draw-lowered",
    "natural-minor",
    "harmonic-minor",
    "repeating-octave",
    "circular",
    "diminished",
    "augmented",
    "whole-tone",
}
HOLES = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
HOLE_OF = {word: hole for hole, word in enumerate((*HOLES, "tenth"), start=1)}
MAJOR = (0, 2, 4, 5, 7, 9, 11)


def row(layout, breath):
    found = {seat.hole: seat.midi for seat in layout.seats if seat.breath == breath}
    return [found[hole] for hole in range(1, layout.holes + 1)]


def notes(name, breath):
    return [note_name(midi, flats=True) for midi in row(catalogue_layout(name), breath)]


def classes(names):
    return {parse_midi(f"{name}4") % 12 for name in names.split()}


def reached(layout):
    """Give plain notes and bends: between the reeds of a hole lies each semitone of a bend."""
    found = {seat.midi for seat in layout.seats}
    for hole in range(1, layout.holes + 1):
        by_breath = {seat.breath: seat.midi for seat in layout.in_hole(hole)}
        if len(by_breath) == 2:
            found |= set(range(min(by_breath.values()), max(by_breath.values()) + 1))
    return found


def test_the_catalogue_has_the_layouts_of_the_contract_and_at_least_sixteen():
    assert set(layout_ids()) >= CONTRACT
    assert len(set(layout_ids())) == len(layout_ids()) >= 16
    assert layout_ids()[0] == "standard"


def test_the_standard_layout_is_the_published_one():
    table = rows("oeis_a291810.csv")
    for breath in ("blow", "draw"):
        above_root = [midi - 60 for midi in row(catalogue_layout("standard"), breath)]
        assert above_root == [int(line[breath]) for line in table]


def test_the_standard_layout_has_nineteen_different_notes():
    # [oeis-a291810] and its text: 2 draw = 3 blow is the one repeat.
    seats = catalogue_layout("standard").seats
    assert (len(seats), len({seat.midi for seat in seats})) == (20, 19)


@pytest.mark.parametrize("key", ORDINARY_KEYS)
def test_two_draw_and_three_blow_are_the_same_note_in_every_key(key):
    # Common practice, no source beyond A291810; in C both are G4.
    layout = catalogue_layout("standard").in_key(parse_key(key))
    assert layout.at(2, "lower").midi == layout.at(3, "upper").midi
    if key == "C":
        assert note_name(layout.at(2, "lower").midi) == "G4"


@pytest.mark.parametrize(
    "name", dict.fromkeys(line["layout"] for line in rows("layouts_by_reeds_changed.csv"))
)
def test_a_layout_changes_exactly_the_published_reeds(name):
    standard, layout = catalogue_layout("standard"), catalogue_layout(name)
    published = {
        (int(hole), line["breath"]): (classes(line["from"]), classes(line["to"]))
        for line in rows("layouts_by_reeds_changed.csv")
        if line["layout"] == name
        for hole in line["holes"].split()
    }
    found = {
        (old.hole, old.breath): ({old.midi % 12}, {new.midi % 12})
        for old, new in zip(standard.seats, layout.seats, strict=True)
        if old != new
    }
    assert found == published


def test_the_minor_layouts_change_every_e_and_b_or_a():
    # Encyclopedia article "Richter tuning": "every E, every B", so none is left.
    assert not classes("E B") & {s.midi % 12 for s in catalogue_layout("natural-minor").seats}
    assert not classes("E A") & {s.midi % 12 for s in catalogue_layout("harmonic-minor").seats}


@pytest.mark.parametrize("line", rows("changed_layouts.csv"), ids=lambda line: line["layout"])
def test_a_layout_misses_the_notes_that_were_derived(line):
    name = line["layout"].replace(" ", "-")
    if name in layout_ids():
        layout = catalogue_layout(name)
    else:
        layout = apply_changes(catalogue_layout("standard"), parse_changes("3 upper=G4 draw"))
    missing = {note_name(midi) for midi in set(range(60, 97)) - reached(layout)}
    assert missing == set(line["missing"].split())


@pytest.mark.parametrize(("note", "seats", "on_blow"), [("F#5", 7, 3), ("A4", 6, 3), ("A#4", 6, 3)])
def test_the_twelve_ordinary_sets_hold_a_note_as_often_as_was_counted(note, seats, on_blow):
    # Counted twice, apart from this project, from [oeis-a291810].
    standard = catalogue_layout("standard")
    holding = [
        seat
        for key in ORDINARY_KEYS
        for seat in standard.in_key(parse_key(key)).seats
        if seat.midi == parse_midi(note)
    ]
    assert len(holding) == seats
    assert [seat.breath for seat in holding].count("blow") == on_blow


def test_third_blow_and_fifth_draw_raised_play_g_major_from_two_draw_to_six_blow():
    # Counted apart from this project, too.
    layout = catalogue_layout("third-blow-and-fifth-draw-raised")
    low, high = layout.at(2, "lower").midi, layout.at(6, "upper").midi
    inside = {seat.midi for seat in layout.seats if low <= seat.midi <= high}
    assert [note_name(midi) for midi in sorted(inside)] == [
        "G4",
        "A4",
        "B4",
        "C5",
        "D5",
        "E5",
        "F#5",
        "G5",
    ]


@pytest.mark.parametrize(
    ("name", "scale", "last"),
    [
        # Design, section 2: common practice, no source.
        ("fifth-draw-raised", "G A B C D E F#", 7),
        ("fifth-draw-raised", "D E F# G A B C", 7),
        ("third-draw-lowered", "G A Bb C D E F", 6),
        # By their names' principles.
        ("fifth-and-ninth-draw-raised", "G A B C D E F#", 10),
        ("natural-minor", "G A Bb C D Eb F", 10),
        ("natural-minor", "C D Eb F G A Bb", 10),
        ("harmonic-minor", "C D Eb F G Ab B", 10),
        ("melodic-minor", "C D Eb F G A B", 10),
        ("third-and-seventh-draw-lowered", "C D E F G A Bb", 10),
        ("third-and-seventh-draw-lowered", "G A Bb C D E F", 10),
        ("sixth-and-tenth-draw-lowered", "C D E F G Ab B", 10),
        ("repeating-octave", "C D E F G A B", 10),
        ("circular", "C D E F G A B", 10),
    ],
)
def test_the_reeds_give_exactly_the_scale_that_the_description_promises(name, scale, last):
    seats = catalogue_layout(name).seats
    assert {seat.midi % 12 for seat in seats if seat.hole <= last} == classes(scale)


def test_third_blow_raised_puts_a_under_the_breath_and_keeps_one_bend_above_it():
    # Design, section 2: common practice, no source.
    third = catalogue_layout("third-blow-raised").in_hole(3)
    assert [note_name(seat.midi) for seat in third] == ["A4", "B4"]


def test_the_repeating_octave_takes_the_pattern_of_holes_four_to_seven():
    standard, layout = catalogue_layout("standard"), catalogue_layout("repeating-octave")
    for breath in ("blow", "draw"):
        pattern = [midi - 72 for midi in row(standard, breath)[3:7]]
        wanted = [60 + 12 * (n // 4) + pattern[n % 4] for n in range(10)]
        assert row(layout, breath) == wanted


def test_the_first_three_holes_repeat_every_octave():
    standard, layout = (catalogue_layout(n) for n in ("standard", "repeating-first-three-holes"))
    for breath in ("blow", "draw"):
        pattern = row(standard, breath)[:3]
        assert row(layout, breath) == [pattern[n % 3] + 12 * (n // 3) for n in range(10)]


def test_the_circular_layout_runs_up_the_scale_through_both_breaths():
    layout = catalogue_layout("circular")
    in_order = [seat.midi for seat in layout.seats]
    assert in_order == [60 + 12 * (n // 7) + MAJOR[n % 7] for n in range(20)]
    assert [seat.breath for seat in layout.seats] == ["blow", "draw"] * 10


@pytest.mark.parametrize(
    ("name", "step", "draw_above_blow"),
    [("diminished", 3, 2), ("augmented", 4, 3), ("whole-tone", 2, 1)],
)
def test_an_even_layout_climbs_by_one_step_on_either_breath(name, step, draw_above_blow):
    layout = catalogue_layout(name)
    assert row(layout, "blow") == [60 + step * n for n in range(10)]
    assert row(layout, "draw") == [60 + step * n + draw_above_blow for n in range(10)]


@pytest.mark.parametrize("name", ["diminished", "augmented", "whole-tone"])
def test_an_even_layout_has_all_twelve_notes_without_an_overbend(name):
    found = reached(catalogue_layout(name))
    assert found == set(range(min(found), max(found) + 1))
    assert len(found) == {"diminished": 30, "augmented": 40, "whole-tone": 20}[name]


@pytest.mark.parametrize(
    "name", ["second-draw-lowered-a-tone", "second-and-third-draw-lowered-a-tone"]
)
def test_lowering_the_low_draw_reeds_keeps_g_and_adds_what_it_says(name):
    low = {note for breath in ("blow", "draw") for note in notes(name, breath)[:4]}
    added = {"F4"} if name.startswith("second-draw") else {"F4", "A4"}
    assert {"G4", *added} <= low
    assert ("B4" in low) == (len(added) == 1)


@pytest.mark.parametrize("name", layout_ids())
def test_every_layout_says_what_it_is_and_fills_twenty_seats_on_their_usual_decks(name):
    layout = catalogue_layout(name)
    assert layout.holes == 10
    assert len(layout.seats) == 20
    assert all(seat.deck == USUAL_DECK[seat.breath] for seat in layout.seats)
    assert all(seat.cents == 0.0 for seat in layout.seats)
    assert len(layout.about.split()) >= 15
    assert layout.title.lower().replace(" ", "-") == name or name == "repeating-first-three-holes"


@pytest.mark.parametrize("name", [n for n in layout_ids() if "raised" in n or "lowered" in n])
def test_a_name_that_says_which_reed_changes_says_it_rightly(name):
    standard, layout = catalogue_layout("standard"), catalogue_layout(name)
    differ = {
        (new.hole, new.breath, new.midi - old.midi)
        for old, new in zip(standard.seats, layout.seats, strict=True)
        if new != old
    }
    # A draw reed moves by a semitone unless the name says otherwise; a blow reed by a tone.
    said, breath, sign = set(), "", 0
    for word in reversed(name.removesuffix("-a-tone").split("-")):
        if word in ("raised", "lowered"):
            sign = 1 if word == "raised" else -1
        elif word in ("blow", "draw"):
            breath = word
        elif word in HOLE_OF:
            by_a_tone = breath == "blow" or name.endswith("-a-tone")
            said.add((HOLE_OF[word], breath, sign * (2 if by_a_tone else 1)))
    assert differ == said


@pytest.mark.parametrize("name", layout_ids())
@pytest.mark.parametrize("register", ["", "low ", "high "])
def test_every_layout_stays_within_midi_in_every_key(name, register):
    layout = catalogue_layout(name)
    for key in ORDINARY_KEYS:
        moved = layout.in_key(parse_key(register + key))
        assert all(0 <= seat.midi <= 127 for seat in moved.seats)
        steps = {b.midi - a.midi for a, b in zip(layout.seats, moved.seats, strict=True)}
        assert steps == {parse_key(register + key).shift}


def test_no_two_layouts_are_the_same():
    assert len({catalogue_layout(name).seats for name in layout_ids()}) == len(layout_ids())


@pytest.mark.parametrize(
    ("asked", "name"),
    [
        ("richter", "standard"),
        ("Country", "fifth-draw-raised"),
        ("Natural Minor", "natural-minor"),
        (" third_blow_RAISED ", "third-blow-raised"),
    ],
)
def test_a_layout_is_found_by_alias_and_in_any_case(asked, name):
    assert catalogue_layout(asked) == catalogue_layout(name)


def test_every_alias_names_a_layout_and_hides_none():
    assert {"richter": "standard", "country": "fifth-draw-raised"}.items() <= aliases().items()
    assert set(aliases().values()) <= set(layout_ids())
    assert not set(aliases()) & set(layout_ids())


def test_a_misspelt_name_is_refused_with_the_nearest_ones():
    with pytest.raises(NoSuchLayout, match=r"no layout 'standrad' .*did you mean standard"):
        catalogue_layout("standrad")


def test_a_name_near_to_none_is_refused_with_all_there_are():
    with pytest.raises(NoSuchLayout, match=r"'xyzzy' in the catalogue; it has standard, .*whole-t"):
        catalogue_layout("xyzzy")
