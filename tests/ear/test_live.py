import numpy as np
import pytest

from combwright.ear.live import Band, Listener
from ear.reeds import RATE, cents, reed


def sounding(*notes, gap=0.2, seed=31, snr_db=25):
    """Return notes one after the other with a rest before each, when each begins, and its pitch."""
    rng = np.random.default_rng(seed)
    parts, begins, now = [], [], 0
    for hz, seconds in notes:
        parts.append(np.zeros(round(gap * RATE)))
        now += len(parts[-1])
        begins.append(now / RATE)
        parts.append(reed(hz, seconds, rng=rng, snr_db=None)[0])
        now += len(parts[-1])
    sound = np.concatenate(parts)
    return sound + rng.normal(0, 10 ** (-(20 + max(snr_db, 35)) / 20), len(sound)), begins


def glances(sound, size=None):
    listener = Listener(RATE)
    size = size or len(sound)
    return [g for at in range(0, len(sound), size) for g in listener.hear(sound[at : at + size])]


def test_blocks_of_any_size_give_the_same_glances():
    sound, _ = sounding((440, 0.5), (587.33, 0.4))
    whole = glances(sound)
    assert glances(sound, 128) == whole == glances(sound, 7919)
    ticks = [round(g.at_s / 0.025) for g in whole]
    steps = [
        (after - before, g.settled)
        for before, after, g in zip(ticks, ticks[1:], whole, strict=False)
    ]
    assert all(step == (2 if settled else 1) for step, settled in steps)


@pytest.mark.parametrize("hz", [98, 440, 1975.5, 3136])
def test_a_first_glance_comes_in_120_ms_and_a_settled_one_in_300(hz):
    sound, (begin,) = sounding((hz, 0.6))
    found = glances(sound)
    first = next(g for g in found if g.hz is not None)
    settled = next(g for g in found if g.settled)
    assert first.at_s - begin < 0.12
    assert not first.settled
    assert settled.at_s - begin <= 0.3
    assert abs(cents(settled.hz, hz)) < 0.2
    assert abs(cents(settled.hz, hz)) < 4 * settled.sd_cents + 0.01


def test_another_note_without_a_rest_is_followed():
    sound, begins = sounding((440, 0.5), (880, 0.5), gap=0.0)
    found = glances(sound)
    assert abs(cents(found[8].hz, 440)) < 0.2
    assert abs(cents(found[-1].hz, 880)) < 0.2
    assert found[-1].settled
    assert not any(g.settled for g in found if begins[1] < g.at_s < begins[1] + 0.15)


def test_silence_and_noise_give_no_pitch():
    noise = np.random.default_rng(32).normal(0, 0.05, RATE)
    assert all(g.hz is None for g in glances(np.concatenate([np.zeros(RATE), noise])))


def test_the_band_of_breath_is_told():
    sound, _ = sounding((440, 0.6))
    quiet, fine, loud = (
        [g.in_band for g in Listener(RATE, band=band).hear(sound)][-1]
        for band in (Band(-10, 0), Band(-30, -10), Band(-60, -40))
    )
    assert (quiet, fine, loud) == (False, True, False)
