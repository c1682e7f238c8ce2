"""Takes of twenty reeds made up here, so that every note's seat and pitch is known."""

import numpy as np
import pytest

from combwright.ear.sound import Sound
from combwright.ear.takes import Target, hear_take
from ear.reeds import RATE, reed
from published import rows

#: Seats of the standard layout on C4, in the order of playing. Source: [oeis-a291810].
SEATS = [
    (f"{row['hole']} {breath}", 60 + int(row[breath]))
    for row in rows("oeis_a291810.csv")
    for breath in ("blow", "draw")
]
NOTES = dict(SEATS)
ORDER = [Target(seat, 440 * 2 ** ((midi - 69) / 12)) for seat, midi in SEATS]


def take(played, *, seed=1, snr_db=25):
    """Return a take of seats, or of (seat, note, seconds), and the cents each was off."""
    rng = np.random.default_rng(seed)
    parts, off = [np.zeros(RATE // 3)], []
    for each in played:
        midi, seconds = (NOTES[each], 0.55) if isinstance(each, str) else each[1:]
        cents = rng.uniform(-15, 15)
        off.append(cents)
        sound, _ = reed(440 * 2 ** ((midi - 69 + cents / 100) / 12), seconds, rng=rng, snr_db=None)
        edge = np.minimum(1, np.arange(len(sound)) / 0.02 / RATE)
        parts += [sound * edge * edge[::-1], np.zeros(round(rng.uniform(0.0, 0.2) * RATE))]
    sound = np.concatenate(parts)
    noise = rng.normal(0, 0.1 / 10 ** (snr_db / 20), len(sound))
    return Sound(sound + noise, RATE), off


def seats(found):
    return [note.seat for note in found.notes]


def test_all_twenty_are_found_each_with_its_cents():
    sound, off = take([seat for seat, _ in SEATS])
    found = hear_take(sound, ORDER)
    assert seats(found) == [seat for seat, _ in SEATS]
    assert (found.missing, found.interchanged) == ((), ())
    assert [note.cents for note in found.notes] == pytest.approx(off, abs=0.1)
    assert not any(note.unsure for note in found.notes)


def test_a_missed_hole_and_a_repeat_and_a_false_start_are_told():
    played = [seat for seat, _ in SEATS[:10]]
    played.remove("3 draw")
    played.insert(2, ("2 blow", NOTES["2 blow"], 0.12))
    played.insert(7, "4 blow")
    found = hear_take(take(played, seed=2)[0], ORDER[:10])
    assert found.missing == ("3 draw",)
    assert sorted(each.why for each in found.ignored) == [
        "played again later", "too short: a false start",
    ]  # fmt: skip
    assert seats(found) == [seat for seat, _ in SEATS[:10] if seat != "3 draw"]


def test_another_order_is_understood():
    blow = [f"{hole} blow" for hole in range(1, 11)]
    draw = [f"{hole} draw" for hole in range(1, 11)]
    found = hear_take(take(draw[::-1] + blow, seed=3)[0], ORDER)
    wrong = [n.seat for n, s in zip(found.notes, draw[::-1] + blow, strict=True) if n.seat != s]
    assert set(wrong) <= {"2 draw", "3 blow"}
    assert all(note.unsure for note in found.notes if note.seat in wrong)


def test_reeds_in_each_others_seats_are_told():
    played = [(seat, midi, 0.55) for seat, midi in SEATS]
    a, b = (index for index, (seat, _) in enumerate(SEATS) if seat in ("3 draw", "7 draw"))
    played[a], played[b] = played[b], played[a]
    found = hear_take(take(played, seed=4)[0], ORDER)
    assert found.interchanged == (("3 draw", "7 draw"),)
    assert found.missing == ()
    off = {note.seat: note.cents for note in found.notes}
    octave = 1200.0  # from a seat's own pitch, as all cents of a take are
    assert off.pop("3 draw") == pytest.approx(octave, abs=16)
    assert off.pop("7 draw") == pytest.approx(-octave, abs=16)
    assert max(abs(each) for each in off.values()) < 16


def test_a_seat_of_which_breath_alone_is_heard_is_silent():
    rng = np.random.default_rng(7)
    first, last = (
        take([seat for seat, _ in part], seed=5, snr_db=40)[0] for part in (SEATS[:6], SEATS[7:12])
    )
    breath = rng.normal(0, 0.012, round(0.5 * RATE)) * np.hanning(round(0.5 * RATE)) ** 0.25
    room = np.random.default_rng(8).normal(0, 0.001, round(0.2 * RATE))
    parts = [first.samples, room, breath, room, last.samples]
    found = hear_take(Sound(np.concatenate(parts), RATE), ORDER[:12])
    assert found.missing == found.silent == (SEATS[6][0],)


def test_a_seat_that_was_passed_over_is_not_silent():
    found = hear_take(take([seat for seat, _ in SEATS[:6] + SEATS[7:12]], seed=6)[0], ORDER[:12])
    assert found.missing == (SEATS[6][0],)
    assert found.silent == ()


@pytest.mark.parametrize("again", ["2 draw", "3 blow"])
def test_which_of_two_seats_alike_was_played_again_is_told_by_fine_pitch_and_unsure(again):
    played = [seat for seat, _ in SEATS[:8]]
    played.insert(played.index(again), again)
    rng = np.random.default_rng(10)
    wanted = {seat: rng.uniform(-15, 15) for seat, _ in SEATS}
    parts = [np.zeros(RATE // 3)]
    for seat in played:
        hz = 440 * 2 ** ((NOTES[seat] - 69 + wanted[seat] / 100) / 12)
        parts += [reed(hz, 0.5, rng=rng)[0], rng.normal(0, 1e-3, RATE // 10)]
    found = hear_take(Sound(np.concatenate(parts), RATE), ORDER[:8])
    assert found.missing == ()
    told = {note.seat: note for note in found.notes}
    for seat in ("2 draw", "3 blow"):
        assert told[seat].cents == pytest.approx(wanted[seat], abs=0.1)
        assert told[seat].unsure
    assert not told["4 blow"].unsure
