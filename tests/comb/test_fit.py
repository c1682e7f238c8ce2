"""Which plate goes into which seat."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combwright.comb.combs import Chamber, Comb, DeckRule
from combwright.comb.fit import Fit, accepts, fit
from combwright.comb.seats import DECKS, NoSuchHole

TEN = Comb(
    "ten chambers",
    tuple(Chamber(round(15.0 - 0.5 * n, 2), 3.0, 4.0) for n in range(10)),
    end_margin_mm=0.2,
    upper=DeckRule("front"),
    lower=DeckRule("any"),
)
LENGTHS = st.integers(500, 2000).map(lambda hundredths: hundredths / 100)


def test_a_plate_that_fits_has_nothing_to_explain():
    assert fit(12.0, "rear", TEN, 5, "lower") == Fit(True, "", 12.0, 12.8)


def test_a_slot_as_long_as_the_chamber_takes_fits_and_a_hundredth_more_does_not():
    assert fit(12.8, "front", TEN, 5, "upper").fits
    assert not fit(12.81, "front", TEN, 5, "upper").fits


def test_too_long_a_slot_is_explained_with_both_lengths():
    refused = fit(14.2, "rear", TEN, 5, "lower")
    assert refused == Fit(False, "slot 14.2 mm, chamber 5 takes 12.8 mm", 14.2, 12.8)


def test_a_slot_refused_by_a_hair_does_not_read_as_equal_to_the_chamber():
    why = fit(12.80002, "rear", TEN, 5, "lower").why
    assert why == "slot 12.80002 mm, chamber 5 takes 12.8 mm"


def test_a_mount_that_the_deck_refuses_is_explained():
    refused = fit(12.0, "rear", TEN, 5, "upper")
    assert not refused.fits
    assert refused.why == ("mounted at the rear, the upper deck takes plates mounted at the front")


def test_two_reasons_are_both_given():
    why = fit(14.2, "rear", TEN, 5, "upper").why
    assert why.startswith("slot 14.2 mm, chamber 5 takes 12.8 mm; mounted at the rear")


@pytest.mark.parametrize(
    ("rule", "front", "rear"),
    [("any", True, True), ("front", True, False), ("rear", False, True)],
)
def test_a_deck_accepts_the_mounts_its_rule_names(rule, front, rear):
    assert (accepts(rule, "front"), accepts(rule, "rear")) == (front, rear)


@given(LENGTHS, st.integers(1, 9), st.sampled_from(DECKS))
def test_a_plate_that_fits_a_shorter_chamber_fits_every_longer_one(slot_mm, hole, deck):
    # The chambers of this comb shorten towards the treble.
    if fit(slot_mm, "front", TEN, hole + 1, deck).fits:
        assert fit(slot_mm, "front", TEN, hole, deck).fits


@given(LENGTHS, LENGTHS, st.integers(0, 100))
def test_lengths_in_hundredths_decide_without_rounding_error(slot_mm, length_mm, margin):
    comb = Comb("one", (Chamber(length_mm, 3.0, 4.0),), end_margin_mm=margin / 100)
    verdict = fit(slot_mm, "rear", comb, 1, "lower").fits
    assert verdict == (round(100 * slot_mm) + margin <= round(100 * length_mm))


def test_a_hole_beyond_the_comb_is_refused():
    with pytest.raises(NoSuchHole, match="no hole 11: holes run from 1 to 10"):
        fit(12.0, "rear", TEN, 11, "upper")
