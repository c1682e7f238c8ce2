"""Takes of instruments made up here, compared: what differs is found, what does not is the same."""

import functools

import numpy as np
import pytest

from combwright.ear.compared import BadMargin, Margins
from combwright.ear.comparing import CannotMatch, NothingInCommon, compare
from combwright.ear.measures import Measured, Played, measure_take, together
from combwright.ear.rates import at_rate
from combwright.ear.third_octaves import LOWEST_BAND
from ear.instruments import ORDER, SEATS, made

NAMES = [seat for seat, _ in SEATS]
FEW = SEATS[:10]
FEW_ORDER = ORDER[:10]
FEW_NAMES = NAMES[:10]


@functools.cache
def before():
    """An instrument of ten reeds, and what was measured of one take of it."""
    instrument = made(1, seats=FEW)
    return instrument, measure_take(instrument.take(), FEW_ORDER)


def after(seed=2, **changes):
    """The same instrument with some seats changed, as measured from another take."""
    instrument = before()[0].copy(seed)
    for what, by in changes.items():
        getattr(instrument, what).update(by)
    return instrument


def compared(instrument, *, gain_db=0.0, **options):
    b = measure_take(instrument.take(gain_db=gain_db), FEW_ORDER)
    return compare(before()[1], b, FEW_NAMES, **options)


def note(found, seat):
    (one,) = (each for each in found.notes if each.seat == seat)
    return one


def once(level=-26.0, cents=0.0, **other):
    values = {
        "bands_db": np.full(20, -40.0), "room_db": np.full(20, -100.0), "sd_cents": 0.0,
        "spread_cents": 0.1, "attack_ms": 20.0, "unsure": False,
    } | other  # fmt: skip
    return Played(level, cents=cents, **values)


def test_the_same_recording_twice_is_the_same_in_every_note():
    found = compare(before()[1], before()[1], FEW_NAMES)
    assert found.count("the same") == 10
    assert found.level_difference_db == 0
    for each in found.notes:
        assert (each.level.difference, each.pitch.difference, each.spectrum.rms_db) == (0, 0, 0)
        assert each.attack.difference == 0


def test_one_instrument_played_twice_is_the_same():
    found = compared(after())
    assert found.count("the same") >= 9
    assert found.count("different") == 0
    assert found.mean(lambda each: each.spectrum.rms_db).mean < 0.3


def test_what_was_changed_is_found_with_its_size():
    found = compared(
        after(
            db={"2 blow": 4.0},
            cents={"3 draw": before()[0].cents["3 draw"] - 9},
            attack_s={"4 blow": 0.09},
            tremor_cents={"1 draw": 2.0},
        )
    )
    assert {each.seat for each in found.notes if each.verdict == "different"} == {
        "2 blow",
        "3 draw",
    }
    assert note(found, "2 blow").level.difference == pytest.approx(4, abs=0.8)
    assert note(found, "3 draw").pitch.difference == pytest.approx(-9, abs=1)
    assert note(found, "4 blow").attack.difference == pytest.approx(0.8 * 60, rel=0.06)
    assert note(found, "1 draw").steadiness.difference == pytest.approx(2 / np.sqrt(2), rel=0.4)
    assert found.count("the same") >= 7


def test_another_gain_is_told_and_is_taken_out_where_asked():
    b = measure_take(after().take(gain_db=-6), FEW_ORDER)
    plain = compare(before()[1], b, FEW_NAMES)
    assert plain.level_difference_db == pytest.approx(-6, abs=0.2)
    assert (plain.matched, plain.count("different")) == (False, 10)
    matched = compare(before()[1], b, FEW_NAMES, match_levels=True)
    assert (matched.matched, matched.count("the same")) == (True, 10)
    assert matched.level_difference_db == plain.level_difference_db
    assert np.median([each.level.difference for each in matched.notes]) == pytest.approx(0)


def test_one_loud_reed_does_not_make_the_others_quiet_where_levels_are_matched():
    found = compared(after(4, db={"2 blow": 9.0}), match_levels=True)
    assert found.level_difference_db == pytest.approx(0, abs=0.3)
    assert [each.seat for each in found.notes if each.verdict == "different"] == ["2 blow"]


def test_levels_of_two_notes_are_not_matched():
    two = Measured({"1 blow": (once(),), "1 draw": (once(),)})
    with pytest.raises(CannotMatch, match="over 3 notes and more; the two share 2"):
        compare(two, two, NAMES, match_levels=True)


def test_the_spectrum_does_not_depend_on_the_level_and_shows_what_became_brighter():
    brighter = after(3)
    brighter.tilt_db = 3.0
    loud = compared(brighter)
    quiet = compared(brighter, gain_db=-12)
    rms = [each.mean(lambda one: one.spectrum.rms_db).mean for each in (loud, quiet)]
    assert rms[0] == pytest.approx(rms[1], rel=0.1)
    bands = loud.band_means_db()
    assert bands[5 - LOWEST_BAND] - bands[-3 - LOWEST_BAND] > 3


def test_repeats_tell_how_far_breaths_stray_even_of_a_single_note():
    one = [("4 blow", 72)]
    order = [target for target in ORDER if target.seat == "4 blow"]
    a = made(5, seats=one, breath_db=0.2)
    b = a.copy(6)
    first, second = (measure_take(each.take(["4 blow"] * 5), order) for each in (a, b))
    found = compare(first, second, ["4 blow"])
    assert found.notes[0].repeats == (5, 5)
    assert (found.notes[0].scatter, found.notes[0].verdict) == ("repeats", "the same")
    alone = compare(measure_take(a.take(), order), second, ["4 blow"])
    assert (alone.notes[0].verdict, alone.notes[0].scatter) == ("cannot tell", None)
    assert "played once only" in alone.notes[0].why


def test_repeats_in_several_takes_count_as_repeats_in_one():
    a = made(7, seats=FEW[:4])
    takes = [measure_take(a.take(), FEW_ORDER[:4]) for _ in range(3)]
    assert [len(each) for each in together(takes).played.values()] == [3] * 4


@pytest.mark.parametrize("twice", [lambda seats: seats * 2, lambda seats: np.repeat(seats, 2)])
def test_repeated_notes_of_seats_that_share_a_pitch_go_to_each_of_them(twice):
    seats = SEATS[2:6]
    instrument = made(8, seats=seats, breath_cents=0.05)
    instrument.cents |= {"2 draw": 5.0, "3 blow": -5.0}
    order = [target for target in ORDER if target.seat in dict(seats)]
    found = measure_take(instrument.take(list(twice(list(dict(seats))))), order).played
    assert {seat: len(played) for seat, played in found.items()} == dict.fromkeys(dict(seats), 2)
    for seat in ("2 draw", "3 blow"):
        for each in found[seat]:
            assert (each.cents, each.unsure) == (
                pytest.approx(instrument.cents[seat], abs=0.5),
                False,
            )


def test_other_rates_are_brought_to_the_lower_one():
    instrument = after(9)
    b = measure_take(at_rate(instrument.take(rate=96_000), 48_000), FEW_ORDER)
    found = compare(before()[1], b, FEW_NAMES)
    assert found.count("the same") >= 9
    assert found.mean(lambda each: each.spectrum.rms_db).mean < 0.3


def test_a_missing_seat_is_named_and_no_common_one_is_refused():
    a = Measured({seat: (once(),) for seat in NAMES[:8]})
    b = Measured({seat: (once(),) for seat in NAMES[2:9]})
    found = compare(a, b, NAMES)
    assert (found.only_a, found.only_b) == (tuple(NAMES[:2]), (NAMES[8],))
    assert found.neither == tuple(NAMES[9:])
    with pytest.raises(NothingInCommon, match=r"no note in common \(1 and 1 are heard\)"):
        compare(Measured({"1 blow": (once(),)}), Measured({"2 blow": (once(),)}), NAMES)
    with pytest.raises(NothingInCommon, match="No note of this layout is heard in B; are layout"):
        compare(a, Measured({}), NAMES)


def test_what_is_too_quiet_or_not_sure_tells_nothing():
    a = {seat: (once(),) for seat in NAMES}
    b = a | {"1 blow": (once(level=float("-inf")),), "2 blow": (once(unsure=True),)}
    found = compare(Measured(a), Measured(b), NAMES)
    assert (found.count("the same"), found.count("cannot tell")) == (18, 2)
    assert note(found, "1 blow").why == "it is too quiet"
    assert (note(found, "1 blow").spectrum, note(found, "1 blow").level.difference) == (None, None)
    assert "which seat" in note(found, "2 blow").why


def test_where_some_notes_are_sure_only_they_count():
    a = {seat: (once(),) for seat in NAMES}
    b = a | {"2 blow": (once(), once(cents=40.0, unsure=True))}
    found = compare(Measured(a), Measured(b), NAMES)
    assert note(found, "2 blow").repeats == (1, 1)
    assert found.count("the same") == 20


@pytest.mark.parametrize("margin", [0.0, -1.0, float("nan"), float("inf")])
def test_a_margin_must_be_above_nothing(margin):
    with pytest.raises(BadMargin, match="must be above 0"):
        Margins(cents=margin)


@pytest.mark.parametrize("repeats", [1, 4])
def test_notes_that_differ_by_the_margin_are_called_the_same_once_in_twenty(repeats):
    rng = np.random.default_rng(20 + repeats)
    trials, same = 200, 0
    for _ in range(trials):
        a, b = (
            Measured(
                {
                    seat: tuple(
                        once(rng.normal(-26, 0.4), rng.normal(0, 0.6)) for _ in range(repeats)
                    )
                    for seat in NAMES[:12]
                }
            )
            for _ in range(2)
        )
        b.played["1 blow"] = tuple(
            once(rng.normal(-26, 0.4), rng.normal(3, 0.6)) for _ in range(repeats)
        )
        same += compare(a, b, NAMES).notes[0].verdict == "the same"
    assert same / trials < 0.05 + 3 * np.sqrt(0.05 * 0.95 / trials)
