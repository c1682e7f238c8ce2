"""`combwright take`, on a whole instrument made up from known pitches."""

import pytest
import soundfile

from cli.commands import combwright
from cli.shapes import NUMBER, check_shape
from ear.reeds import RATE
from ear.test_takes import SEATS, take

PLACE = {"hole": int, "deck": {"upper", "lower"}, "breath": {"blow", "draw"}}
TAKE = {
    "schema": {1},
    "notes": [
        PLACE | {
            "start_s": NUMBER, "end_s": NUMBER, "hz": NUMBER, "cents": NUMBER, "sd_cents": NUMBER,
            "unsure": bool,
        }
    ],
    "missing": [PLACE],
    "ignored": [{"start_s": NUMBER, "end_s": NUMBER, "why": str}],
    "remarks": [str],
}  # fmt: skip


@pytest.fixture(scope="module")
def recording(tmp_path_factory):
    """All but 7 draw, and 4 draw and 5 draw in each other's seats; with the cents of each note."""
    played = [(seat, midi, 0.55) for seat, midi in SEATS if seat != "7 draw"]
    a, b = (n for n, (seat, *_) in enumerate(played) if seat in ("4 draw", "5 draw"))
    played[a], played[b] = played[b], played[a]
    sound, off = take(played, seed=21)
    path = tmp_path_factory.mktemp("takes") / "take.flac"
    soundfile.write(path, sound.samples, RATE, subtype="PCM_24")
    return path, off


def test_every_reed_is_given_to_its_seat_with_its_cents(recording):
    path, off = recording
    document = combwright("take", path, "--layout", "standard", "--key", "C", "--json").document
    check_shape(document, TAKE)
    assert document["missing"] == [{"hole": 7, "deck": "lower", "breath": "draw"}]
    assert document["remarks"] == ["4 draw and 5 draw seem interchanged"]
    swapped = [note["breath"] == "draw" and note["hole"] in (4, 5) for note in document["notes"]]
    assert sum(swapped) == 2
    plain = [
        (note["cents"], cents)
        for note, cents, odd in zip(document["notes"], off, swapped, strict=True)
        if not odd
    ]
    assert [cents for cents, _ in plain] == pytest.approx([true for _, true in plain], abs=0.1)


def test_in_words_the_worst_comes_first(recording):
    lines = combwright("take", recording[0]).out.splitlines()
    assert lines[:2] == ["4 draw and 5 draw seem interchanged", "7 draw: not heard"]
    cents = [abs(float(line.split()[3])) for line in lines[2:21]]
    assert cents == sorted(cents, reverse=True)


@pytest.mark.parametrize(
    ("order", "line"),
    [
        ("1 blow, 1 blow", "'1 blow' stands twice"),
        ("1 up", "1 up"),
        ("11 blow", "There is no hole 11"),
    ],
)
def test_an_order_that_cannot_be_played_is_refused(recording, order, line):
    assert line in combwright("take", recording[0], "--order", order).error
