"""`combwright show`, checked against notes worked out here from the standard layout's own source.

The bend rule is that of [bahnson-1998] with the semitone steps of common practice: the higher reed
of a chamber bends down to a semitone above the lower, an overbend lies a semitone above the higher.
Positions go up by fifths (common practice).
"""

import pytest

from cli.commands import combwright
from cli.pitches import midi, name, pitch_class
from cli.shapes import check_shape
from published import rows

MAJOR = (0, 2, 4, 5, 7, 9, 11, 12)
HOWS = ["natural", "bend", "overbend", "missing"]
PITCHED = [{"pitch": str, "how": {"natural", "bend", "overbend"}}]
SHOW = {
    "schema": {1},
    "title": str,
    "seats": [
        {
            "hole": int, "deck": {"upper", "lower"}, "breath": {"blow", "draw"},
            "facing": {"in", "out"}, "pitch": str, "cents": float,
        }
    ],
    "bends": [{"hole": int, "breath": {"blow", "draw"}, "semitones": int, "pitch": str}],
    "overbends": [{"hole": int, "kind": {"overblow", "overdraw"}, "pitch": str}],
    "positions": [
        {"position": int, "tonic": str, "scale": [{"pitch": str, "how": set(HOWS)}]}
    ],
    "chords": [{"breath": {"blow", "draw"}, "holes": [int], "name": str, "pitches": [str]}],
    "changed": [
        {
            "hole": int, "deck": {"upper", "lower"}, "breath": {"blow", "draw"},
            "from": (str, None), "to": (str, None),
        }
    ],
    "gained": PITCHED,
    "lost": PITCHED,
    "remarks": [{"hole": int, "text": str}],
}  # fmt: skip


def chambers(root, changes=()):
    """Return the two notes of each hole of the standard layout, some of them replaced."""
    found = {
        int(row["hole"]): {breath: root + int(row[breath]) for breath in ("blow", "draw")}
        for row in rows("oeis_a291810.csv")
    }
    for hole, breath, note in changes:
        found[hole][breath] = note
    return found


def bends_of(holes):
    for hole, notes in holes.items():
        breath = max(notes, key=notes.get)
        for depth in range(1, abs(notes["blow"] - notes["draw"])):
            yield hole, breath, depth, name(notes[breath] - depth)


def overbends_of(holes):
    for hole, notes in holes.items():
        kind = "overblow" if notes["draw"] > notes["blow"] else "overdraw"
        yield hole, kind, name(max(notes.values()) + 1)


def easiest(holes):
    """Return how each note is got at best."""
    hows = {midi(note): "overbend" for *_place, note in overbends_of(holes)}
    hows |= {midi(note): "bend" for *_place, note in bends_of(holes)}
    return hows | {note: "natural" for notes in holes.values() for note in notes.values()}


def easier(here, there):
    return [
        {"pitch": name(note), "how": how}
        for note, how in sorted(here.items())
        if HOWS.index(how) < HOWS.index(there.get(note, "missing"))
    ]


STANDARD_IN_A = chambers(midi("A3"))
#: Third blow raised a tone, and the fifth draw, D5 in A, changed to D#5.
ASKED = chambers(midi("A3"), [(3, "blow", midi("E4") + 2), (5, "draw", midi("D#5"))])


@pytest.fixture(scope="module")
def shown():
    answer = combwright(
        "show", "third-blow-raised", "--key", "A", "--change", "5 draw=D#5", "--json"
    )
    assert answer.err == ""
    return answer.document


def test_the_document_has_the_keys_and_types_of_the_contract(shown):
    check_shape(shown, SHOW)


def test_seats_are_those_of_the_source_moved_to_a_and_changed(shown):
    expected = [
        {
            "hole": hole,
            "deck": {"blow": "upper", "draw": "lower"}[breath],
            "breath": breath,
            "facing": {"blow": "in", "draw": "out"}[breath],
            "pitch": name(notes[breath]),
            "cents": 0.0,
        }
        for hole, notes in ASKED.items()
        for breath in ("blow", "draw")
    ]
    assert shown["seats"] == expected
    assert [seat["pitch"] for seat in expected[4:6]] == ["F#4", "G#4"]


def test_bends_and_overbends_follow_from_the_two_reeds_of_each_hole(shown):
    bends = [tuple(b[key] for key in ("hole", "breath", "semitones", "pitch"))
             for b in shown["bends"]]  # fmt: skip
    assert bends == list(bends_of(ASKED))
    overbends = [tuple(o[key] for key in ("hole", "kind", "pitch")) for o in shown["overbends"]]
    assert overbends == list(overbends_of(ASKED))


def test_what_changes_against_the_standard_layout_is_told_reed_by_reed_and_note_by_note(shown):
    assert shown["changed"] == [
        {"hole": 3, "deck": "upper", "breath": "blow", "from": "E4", "to": "F#4"},
        {"hole": 5, "deck": "lower", "breath": "draw", "from": "D5", "to": "D#5"},
    ]
    before, after = easiest(STANDARD_IN_A), easiest(ASKED)
    assert shown["gained"] == easier(after, before)
    assert shown["lost"] == easier(before, after)
    assert {"pitch": "F#4", "how": "natural"} in shown["gained"]


def test_the_major_scale_is_shown_in_twelve_positions_a_fifth_apart(shown):
    hows = easiest(ASKED)
    lowest, highest = midi("A3"), midi("A6")
    assert [each["position"] for each in shown["positions"]] == list(range(1, 13))
    for each in shown["positions"]:
        tonic = (pitch_class("A") + 7 * (each["position"] - 1)) % 12
        assert pitch_class(each["tonic"]) == tonic
        octaves = [
            [hows.get(start + step, "missing") for step in MAJOR]
            for start in range(lowest, highest - 11)
            if start % 12 == tonic
        ]
        first = midi(each["scale"][0]["pitch"])
        assert first % 12 == tonic
        assert [midi(step["pitch"]) - first for step in each["scale"]] == list(MAJOR)
        got = [step["how"] for step in each["scale"]]
        assert got == [hows.get(first + step, "missing") for step in MAJOR]
        assert got.count("natural") == max(octave.count("natural") for octave in octaves)


def test_chords_are_what_their_holes_give_on_one_breath(shown):
    assert any(chord["name"].startswith("A") for chord in shown["chords"])
    for chord in shown["chords"]:
        assert chord["pitches"] == [name(ASKED[hole][chord["breath"]]) for hole in chord["holes"]]


def test_two_raised_reeds_give_second_position_its_major_scale_without_a_bend():
    """G A B C D E F# G all natural from 2 draw to 6 blow; see OEIS A291810 and the bend rule."""
    document = combwright("show", "third-blow-and-fifth-draw-raised", "--json").document
    second = document["positions"][1]
    notes = ["G4", "A4", "B4", "C5", "D5", "E5", "F#5", "G5"]
    assert second == {
        "position": 2,
        "tonic": "G",
        "scale": [{"pitch": note, "how": "natural"} for note in notes],
    }


def test_scale_and_base_of_the_comparison_can_be_chosen():
    """Second position of the standard layout is mixolydian: its seventh is the key's fourth."""
    asked = ["--scale", "mixolydian", "--against", "third-blow-raised", "--json"]
    document = combwright("show", "standard", *asked).document
    second = document["positions"][1]["scale"]
    notes = ["G5", "A5", "B5", "C6", "D6", "E6", "F6", "G6"]
    assert second == [{"pitch": note, "how": "natural"} for note in notes]
    (changed,) = document["changed"]
    assert (changed["hole"], changed["from"], changed["to"]) == (3, "A4", "G4")


def test_an_emptied_seat_and_a_turned_plate_are_shown_with_an_honest_remark():
    """Hole 7 has its remark as it is: B5 and C6 are a semitone apart."""
    asked = ["--change", "5 draw=none", "--change", "3 upper=G4 draw", "--json"]
    document = combwright("show", "standard", *asked).document
    check_shape(document, SHOW)
    assert len(document["seats"]) == 19
    assert {"hole": 3, "deck": "upper", "breath": "draw", "facing": "out", "pitch": "G4",
            "cents": 0.0} in document["seats"]  # fmt: skip
    assert [remark["hole"] for remark in document["remarks"]] == [3, 5, 7]


def test_the_words_for_people_say_the_same():
    out = combwright("show", "third-blow-raised", "--key", "A", "--change", "5 draw=D#5").out
    assert "Third blow raised" in out.splitlines()[0]
    for hole, notes in ASKED.items():
        (line,) = [line for line in out.splitlines() if line.startswith(f"  hole {hole:>2} ")]
        assert f"blow {name(notes['blow'])} " in line
        assert f"draw {name(notes['draw'])} " in line
    assert "3 blow (upper): E4 becomes F#4" in out


def test_the_catalogue_is_listed_with_its_aliases():
    document = combwright("layouts", "--json").document
    check_shape(
        document,
        {"schema": {1}, "layouts": [{"id": str, "aliases": [str], "title": str, "about": str}]},
    )
    by_id = {each["id"]: each for each in document["layouts"]}
    assert by_id["standard"]["aliases"] == ["richter"]
    assert by_id["fifth-draw-raised"]["aliases"] == ["country"]
    out = combwright("layouts").out
    assert all(each["title"] in out and each["about"] in out for each in by_id.values())
