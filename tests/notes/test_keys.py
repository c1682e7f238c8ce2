"""Keys: where their roots lie, against the trade's range and music21's transposition."""

import pytest
from music21.interval import Interval
from music21.pitch import Pitch

from combwright.comb.catalogue import catalogue_layout
from combwright.notes.keys import ORDINARY_KEYS, BadKey, Key, parse_key, transposed_name
from combwright.notes.names import note_name

# Semitones from C4, the contract's range of roots, G3 to F#4; that G to B lie below C and Db to F#
# above: [richter-article].
SHIFTS = dict(zip(ORDINARY_KEYS, range(-5, 7), strict=True))


@pytest.mark.parametrize(("name", "shift"), SHIFTS.items())
def test_an_ordinary_key_has_its_root_between_g3_and_f_sharp_4(name, shift):
    assert parse_key(name) == Key(name, shift)
    assert parse_key(f"low {name}") == Key(f"low {name}", shift - 12)
    assert parse_key(f"High {name}") == Key(f"high {name}", shift + 12)


@pytest.mark.parametrize(
    ("text", "name", "shift"),
    [
        ("C#", "C#", 1),
        ("G#", "G#", -4),
        ("Gb", "Gb", 6),
        ("f♯", "F#", 6),
        ("b♭", "Bb", -2),
        ("bb", "Bb", -2),
        ("Cb", "Cb", -1),
        ("B#", "B#", 0),
        ("  LOW   f ", "low F", -7),
    ],
)
def test_a_key_is_read_in_other_spellings(text, name, shift):
    assert parse_key(text) == Key(name, shift)


@pytest.mark.parametrize("name", ORDINARY_KEYS)
@pytest.mark.parametrize(("register", "octave"), [("", 0), ("low ", -1), ("high ", 1)])
def test_the_standard_layout_moves_to_a_key_as_music21_transposes_it(name, register, octave):
    home = 3 if name in ("G", "Ab", "A", "Bb", "B") else 4
    root = Pitch(f"{name.replace('b', '-')}{home + octave}")
    step = Interval(Pitch("C4"), root)
    standard = catalogue_layout("standard")
    moved = standard.in_key(parse_key(register + name))
    for before, after in zip(standard.seats, moved.seats, strict=True):
        assert after.midi == int(Pitch(note_name(before.midi)).transpose(step).ps)
        assert (after.hole, after.deck, after.breath) == (before.hole, before.deck, before.breath)


def test_the_pitch_class_of_a_key_ignores_its_octave():
    names = ("low Bb", "Bb", "high Bb", "A#")
    assert {parse_key(name).pitch_class for name in names} == {10}
    assert transposed_name(10) == "A#"
    assert transposed_name(10, flats=True) == "Bb"


@pytest.mark.parametrize("text", ["", "H", "C major", "Am", "lowC", "C##", "lower F", "C4"])
def test_what_is_no_key_is_refused_with_the_keys_there_are(text):
    with pytest.raises(BadKey, match=r"is no key: write one of G, Ab, A, Bb.*'low' or 'high'"):
        parse_key(text)
