"""Two and three reeds at once, made up: none missed, none invented, as fine as the bound."""

import numpy as np
import pytest

from combwright.ear.believing import NoReeds
from combwright.ear.sound import Sound
from combwright.ear.together import read_together
from ear.pairs import bound_hz2, together, voices
from ear.reeds import RATE, amplitudes, cents, reed


def unison(rng):
    hz = np.exp(rng.uniform(np.log(130), np.log(2000)))
    return [hz, hz + np.exp(rng.uniform(np.log(0.2), np.log(5)))]


def octave(rng):
    hz = np.exp(rng.uniform(np.log(130), np.log(1500)))
    return [hz, 2 * hz * 2 ** (rng.choice([-1, 1]) * rng.uniform(1, 10) / 1200)]


def chord(steps):
    def notes(rng):
        hz = np.exp(rng.uniform(np.log(130), np.log(1200)))
        return [hz * step * 2 ** (rng.normal(0, 1) / 1200) for step in steps]

    return notes


CASES = {
    "unison": unison,
    "octave": octave,
    "pure chord": chord([1, 5 / 4, 3 / 2]),
    "equal chord": chord([1, 2 ** (4 / 12), 2 ** (7 / 12)]),
}


@pytest.mark.parametrize("case", CASES)
def test_none_is_missed_and_beats_are_as_fine_as_the_bound(case):
    rng = np.random.default_rng(21)
    ratios, stated = [], []
    for _ in range(2):
        hz = CASES[case](rng)
        slope = rng.uniform(-3, 3)
        parts = voices(rng, hz, alike=case == "unison")
        sound, bound = together(
            rng, hz, parts, 0.5, moves=lambda t, slope=slope: slope * (t - t.mean())
        )
        heard = read_together(Sound(sound, RATE), len(hz))
        assert len(heard.voices) == len(hz)
        assert np.abs([cents(v.hz, f) for v, f in zip(heard.voices, hz, strict=True)]).max() < 1
        for n, beat in enumerate(heard.beats):
            by = np.zeros(len(hz))
            by[n], by[n + 1] = -beat.of_lower, beat.of_upper
            error = beat.hz - abs(by @ hz)
            ratios.append(error / np.sqrt(by @ bound @ by))
            stated.append(error / beat.sd_hz)
    assert np.sqrt(np.mean(np.square(ratios))) < 2
    assert np.sqrt(np.mean(np.square(stated))) < 2


def test_the_bound_of_one_sinusoid_is_the_published_one():
    # Source: [rife-boorstyn], 4800 samples at 48 kHz, 20 dB: 7.957747e-3 Hz.
    bound = bound_hz2([440.0], [np.array([1.0])], [np.array([0.3])], np.sqrt(0.005), 4800)
    assert np.sqrt(bound[0, 0]) == pytest.approx(7.957747e-3, rel=2e-4)


def tremor(rng, hz, size):
    turn = rng.uniform(0, 6)
    way = lambda t: 3 * np.sin(2 * np.pi * 5.3 * t + turn)  # noqa: E731
    swell = lambda t: 1 + 0.1 * np.sin(2 * np.pi * 5.3 * t + turn + 1)  # noqa: E731
    return together(rng, [hz], [amplitudes(rng, hz)], size / RATE, moves=way, swells=swell)[0]


def glide(rng, hz, size):
    return reed(hz, size / RATE, rng=rng, moves=lambda t: 8 * t)[0]


def hum(rng, hz, size):
    lines = sum(np.cos(2 * np.pi * 50 * k * np.arange(size) / RATE + k) / k for k in (1, 2, 3))
    return reed(hz, size / RATE, rng=rng)[0] + 0.04 * lines


def echo(rng, hz, size):
    sound = reed(hz, size / RATE + 0.05, rng=rng)[0]
    late = round(0.021 * RATE)
    sound[late:] += 0.4 * sound[:-late]
    return sound[-size:]


def fading(rng, hz, size):
    return reed(hz, size / RATE, rng=rng)[0] * 10 ** (-0.4 * np.arange(size) / RATE)


@pytest.mark.parametrize("sounds", [tremor, glide, hum, echo, fading])
def test_a_lone_reed_is_never_two(sounds):
    rng = np.random.default_rng(22)
    for hz in (196.3, 1320.7):
        heard = read_together(Sound(sounds(rng, hz, RATE // 2), RATE), 2)
        assert len(heard.voices) == 1
        assert abs(cents(heard.voices[0].hz, hz)) < 6


def test_a_pair_is_told_apart_under_a_trembling_breath():
    rng = np.random.default_rng(23)
    hz = [440.0, 441.5]
    sound, _ = together(
        rng, hz, voices(rng, hz, alike=True), 0.6, snr_db=30,
        moves=lambda t: 1.5 * np.sin(2 * np.pi * 5 * t),
    )  # fmt: skip
    heard = read_together(Sound(sound, RATE), 2)
    assert heard.beats[0].hz == pytest.approx(1.5, abs=0.02)


def test_notes_that_are_expected_are_looked_for_there():
    rng = np.random.default_rng(24)
    hz = [440.0, 881.2]
    sound, _ = together(rng, hz, voices(rng, hz), 0.5)
    heard = read_together(Sound(sound, RATE), 2, near_hz=[880, 440])
    assert [voice.hz for voice in heard.voices] == pytest.approx(hz, abs=0.05)


def test_a_longer_sound_counts_the_scatter_of_its_parts():
    rng = np.random.default_rng(25)
    hz = [523.3, 525.0]
    parts = voices(rng, hz, alike=True)
    calm = together(rng, hz, parts, 1.6)[0]
    # A pitch that wanders slowly is another half second by half second.
    wandering = together(rng, hz, parts, 1.6, moves=lambda t: 4 * np.sin(2 * np.pi * 0.6 * t))[0]
    first, second = (read_together(Sound(each, RATE), 2) for each in (calm, wandering))
    assert first.beats[0].hz == pytest.approx(1.7, abs=5 * first.beats[0].sd_hz + 1e-4)
    assert second.beats[0].hz == pytest.approx(1.7, abs=0.05)
    assert second.voices[0].sd_cents > 10 * first.voices[0].sd_cents


def test_noise_and_a_voice_are_no_reeds():
    rng = np.random.default_rng(26)
    with pytest.raises(NoReeds):
        read_together(Sound(rng.normal(0, 0.1, RATE // 2), RATE), 2)
    voice, _ = reed(140, 1.0, rng=rng, moves=lambda t: 500 * np.sin(2 * np.pi * 2.3 * t))
    with pytest.raises(NoReeds):
        read_together(Sound(voice, RATE), 2)


def test_a_fifth_of_a_second_is_needed():
    with pytest.raises(NoReeds, match="100 ms"):
        read_together(Sound(np.ones(4800), RATE), 2)
