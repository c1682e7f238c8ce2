import json

import numpy as np
import pytest

from combwright.ear.live import Band
from combwright.notes.pitch import hertz
from combwright.shop.tuning.clocks import Clock, clock_from
from combwright.shop.tuning.talk import BadTalk, Talk, asked
from ear.reeds import RATE, reed

C4, G4 = (float(hertz(midi)) for midi in (60, 67))


def opening(**more):
    return json.dumps({"rate": RATE, "aims": [C4, G4], "microphone": None, "focus": None} | more)


def said_of(hz, *, clock=None, **more):
    """Return what is said while a reed sounds for half a second."""
    sound, true_hz = reed(hz, 0.5, rng=np.random.default_rng(5), parts=[1.0, 0.5, 0.3])
    talk = Talk(asked(opening(**more)), band=Band(-60, -3), clock=clock or Clock())
    return list(talk.hear(sound.astype("<f4").tobytes())), true_hz


def test_a_page_hears_which_reed_sounds_and_how_far_off_it_is():
    said, _ = said_of(float(hertz(67, 7.5)))
    last = said[-1]
    assert (last["aim"], last["alike"], last["settled"], last["breath"]) == (1, [1], True, "good")
    assert last["cents"] == pytest.approx(7.5, abs=0.1)


def test_a_reed_in_focus_is_heard_as_that_one_however_far_off():
    said, _ = said_of(G4, focus=0)
    assert said[-1]["aim"] == 0
    assert said[-1]["cents"] == pytest.approx(700, abs=0.1)


def test_reeds_of_one_pitch_are_all_named():
    said, _ = said_of(G4, aims=[C4, G4, G4])
    assert said[-1]["alike"] == [1, 2]


def test_a_known_clock_corrects_what_is_heard():
    clock = clock_from(1000.0, 999.9, 0.001)
    assert clock.ppm == pytest.approx(100.01, abs=0.01)
    said, true_hz = said_of(C4, clock=clock)
    assert said[-1]["hz"] == pytest.approx(true_hz * 1.0001, abs=0.01)
    assert said[-1]["raw"] == pytest.approx(true_hz, abs=0.01)


def test_an_unknown_clock_is_in_the_error_that_is_said():
    said, _ = said_of(C4)
    assert said[-1]["sd"] >= 0.0865  # 50 millionths
    assert said[-1]["rawsd"] < 0.05


@pytest.mark.parametrize(
    ("message", "why"),
    [
        ("", "no JSON object"),
        ("[1]", "no JSON object"),
        (opening(rate=4000), "rate is 4000"),
        (opening(rate="fast"), "rate is 'fast'"),
        (opening(aims=[1e9]), "aims are up to 64 pitches"),
        (opening(aims=[440.0] * 65), "aims are up to 64 pitches"),
        (opening(aims=[True]), "aims are up to 64 pitches"),
        (opening(microphone="x"), "microphone is 'x'"),
        (opening(focus=2), "focus is 2; there are aims 0 to 1"),
    ],
)
def test_an_opening_that_is_none_is_refused_in_one_line(message, why):
    with pytest.raises(BadTalk, match=why):
        asked(message)


def test_sound_that_is_none_is_refused_and_odd_numbers_do_no_harm():
    talk = Talk(asked(opening()), band=None, clock=Clock())
    with pytest.raises(BadTalk, match="7 bytes"):
        list(talk.hear(b"1234567"))
    odd = np.full(4800, np.nan, "<f4")
    odd[::2] = np.inf
    assert all("level" in said for said in talk.hear(odd.tobytes()))
