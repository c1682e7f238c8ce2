"""Temperaments against published cents and exact chord ratios."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combwright.notes.names import parse_midi
from combwright.notes.pitch import hertz
from combwright.notes.temperament import (
    EQUAL,
    NAMES,
    BadTemperament,
    Temperament,
    from_ratios,
    named_temperament,
    ratio_cents,
    ratios_of,
)
from published import rows

TONIC = 0
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
JUST = ("5-limit", "7-limit", "19-limit")
# The contract's ratios, the fourth apart.
COMMON = ["1", "135/128", "9/8", "6/5", "5/4", "_", "45/32", "3/2", "8/5", "27/16", "9/5", "15/8"]


def tuned_hertz(temperament, names):
    midis = [parse_midi(name) for name in names.split()]
    return hertz(midis, [temperament.offset(midi, TONIC) for midi in midis])


@pytest.mark.parametrize("row", rows("just_ratios.csv"), ids=lambda row: row["ratio"])
def test_a_just_ratio_has_its_published_cents(row):
    assert ratio_cents(Fraction(row["ratio"])) == pytest.approx(float(row["cents"]), abs=5e-7)


@pytest.mark.parametrize(
    ("name", "fourth"), [("5-limit", "27/20"), ("7-limit", "21/16"), ("19-limit", "171/128")]
)
def test_a_named_scheme_has_the_ratios_of_the_contract(name, fourth):
    wanted = [Fraction(fourth if text == "_" else text) for text in COMMON]
    assert list(ratios_of(name)) == wanted


@pytest.mark.parametrize(
    "row", rows("just_schemes.csv"), ids=lambda row: f"{row['fourth']}, {row['sixth']}"
)
def test_a_just_scheme_lies_its_published_cents_from_equal(row):
    ratios = list(ratios_of("5-limit"))
    ratios[5], ratios[9] = Fraction(row["fourth"]), Fraction(row["sixth"])
    built = from_ratios("built", ratios)
    schemes = [built, named_temperament(row["name"])] if row["name"] else [built]
    for scheme in schemes:
        for note, semitones in SEMITONES.items():
            found = scheme.offset(60 + semitones, TONIC)
            assert found == pytest.approx(float(row[note]), abs=0.0005)


def test_the_19_limit_rounds_to_the_published_whole_cents():
    scheme = named_temperament("19-limit")
    for row in rows("nineteen_limit_rounded.csv"):
        assert round(scheme.offset(parse_midi(row["note"]), TONIC)) == int(row["cents"])


@pytest.mark.parametrize(
    ("name", "chord", "ratio"),
    [
        ("7-limit", "G4 B4 D5 F5", (4, 5, 6, 7)),
        ("19-limit", "D5 F5 A5", (16, 19, 24)),
        ("5-limit", "D5 F5 A5", (10, 12, 15)),
        ("5-limit", "C4 E4 G4", (4, 5, 6)),
        ("7-limit", "C4 E4 G4", (4, 5, 6)),
        ("19-limit", "C4 E4 G4", (4, 5, 6)),
    ],
)
def test_chords_stand_in_whole_number_ratios(name, chord, ratio):
    # Chord ratios: [hansson-2004] and the exact fractions.
    found = tuned_hertz(named_temperament(name), chord)
    assert found / found[0] * ratio[0] == pytest.approx(ratio, rel=1e-12)


def test_in_equal_temperament_the_same_chord_is_in_no_such_ratio():
    found = tuned_hertz(EQUAL, "G4 B4 D5 F5")
    assert found / found[0] * 4 != pytest.approx((4, 5, 6, 7), rel=1e-3)


@given(st.sampled_from(JUST), st.integers(36, 96), st.integers(0, 11), st.integers(-5, 6))
def test_tempering_commutes_with_transposing(name, midi, tonic, shift):
    scheme = named_temperament(name)
    assert scheme.offset(midi + shift, tonic + shift) == scheme.offset(midi, tonic)


@given(st.sampled_from(NAMES), st.integers(0, 127))
def test_the_tonic_is_at_its_equal_pitch_in_every_octave(name, tonic):
    assert named_temperament(name).offset(tonic + 12, tonic) == 0.0


def test_a_single_reed_may_have_cents_of_its_own():
    scheme = Temperament("odd", EQUAL.cents, {(5, "draw"): -12.5})
    assert scheme.offset(77, TONIC, 5, "draw") == -12.5
    assert scheme.offset(77, TONIC, 5, "blow") == 0.0
    assert scheme.offset(77, TONIC) == 0.0


def test_a_temperament_can_be_kept_in_a_set():
    assert len({named_temperament(name) for name in (*NAMES, *NAMES)}) == len(NAMES)


@pytest.mark.parametrize("text", [" Equal ", "7-LIMIT"])
def test_case_and_spaces_of_a_name_do_not_matter(text):
    assert named_temperament(text).name == text.strip().lower()


def test_an_unknown_name_is_refused_with_the_names_there_are():
    with pytest.raises(BadTemperament, match="'pure' is no temperament: use equal, 5-limit, 7-l"):
        named_temperament("pure")


@pytest.mark.parametrize("count", [0, 7, 11, 13])
def test_a_table_has_twelve_numbers(count):
    with pytest.raises(BadTemperament, match=f"twelve numbers.*'short' has {count}"):
        Temperament("short", (0.0,) * count)
