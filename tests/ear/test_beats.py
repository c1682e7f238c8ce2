"""Beats of mistuned intervals against figures worked out elsewhere."""

import pytest

from combwright.ear.beats import beat, nearest_ratio

C4, E4, G4 = 261.6255653, 329.6275569, 391.9954360


@pytest.mark.parametrize(
    ("lower", "upper", "ratio", "beats"),
    [
        # Source: [helmholtz], computed for equal temperament at A4 = 440 Hz.
        (C4, G4, (3, 2), 0.885824),
        (C4, E4, (5, 4), 10.382401),
        (440.0, 440 * 2 ** (1 / 1200), (1, 1), 0.254227),
        (440.0, 881.0, (2, 1), 1.0),
        (E4, G4, (6, 5), abs(5 * G4 - 6 * E4)),
    ],
)
def test_an_interval_beats_where_its_lowest_partials_meet(lower, upper, ratio, beats):
    assert nearest_ratio(lower, upper) == ratio
    assert beat((lower, upper)).hz == pytest.approx(beats, abs=1e-6)


def test_an_interval_far_from_any_simple_one_takes_the_nearest():
    assert nearest_ratio(440.0, 440 * 2 ** (35 / 1200)) == (1, 1)
    assert nearest_ratio(440.0, 440 * 2 ** (90 / 1200)) == (16, 15)


def test_what_two_frequencies_err_alike_does_not_make_a_beat_unsure():
    alike = [[0.01, 0.01], [0.01, 0.01]]
    assert beat((440.0, 441.0), alike).sd_hz == pytest.approx(0, abs=1e-9)
    apart = [[0.01, 0.0], [0.0, 0.01]]
    assert beat((440.0, 441.0), apart).sd_hz == pytest.approx(0.02**0.5)
