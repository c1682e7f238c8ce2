"""What the tests of takes begin with: an instrument, and recordings of it made up here."""

import functools
import io
from uuid import uuid4

import numpy as np
import soundfile
from django.core.files.uploadedfile import SimpleUploadedFile

from combwright.ear.sound import Sound
from combwright.files.recordings import pack_recording
from combwright.shop.jobs.registry import kinds
from combwright.shop.jobs.run import Run
from combwright.shop.tuning import take_actions
from combwright.shop.tuning.aims import aims
from ear.reeds import reed
from shop.bench.days import a_set, built, somebody
from shop.jobs.hands import take as take_up

RATE = 22_050
NOTE_S, PAUSE_S = 0.35, 0.08


def an_instrument(number="W-1", **more):
    """Build an instrument in C, of a set of its own."""
    a_set("C", 1, batch=number)
    return built(number, **more).instruments.get()


@functools.cache
def playing(notes, seed=1, rate=RATE):
    """Return the sound of some notes in hertz, one after the other."""
    rng = np.random.default_rng(seed)
    parts = [np.zeros(round(0.3 * rate))]
    for hz in notes:
        sound, _ = reed(hz, NOTE_S, rng=rng, rate=rate, snr_db=None)
        edge = np.minimum(1, np.arange(len(sound)) / 0.02 / rate)
        parts += [sound * edge * edge[::-1], np.zeros(round(PAUSE_S * rate))]
    sound = np.concatenate(parts)
    return Sound(sound + rng.normal(0, 0.001, len(sound)), rate)


def notes_of(instrument, *, off=(), without=(), swapped=()):
    """Return what an instrument sounds, seat by seat: `off` gives cents by label."""
    cents = dict(off)
    seats = [aim for aim in aims(instrument) if not aim.in_kit]
    labels = {aim.label: aim for aim in seats}
    other = {**dict(swapped), **{b: a for a, b in swapped}}
    return tuple(
        labels[other.get(aim.label, aim.label)].hz * 2 ** (cents.get(aim.label, 0.0) / 1200)
        for aim in seats
        if aim.label not in without
    )


def wav(sound, *, subtype="PCM_16", kind="WAV", samples=None):
    file = io.BytesIO()
    what = sound.samples if samples is None else samples
    soundfile.write(file, what, sound.rate, subtype, format=kind)
    return file.getvalue()


def handed_in(data, *, name="take.wav", **more):
    """Return what the form of a take sends."""
    file = SimpleUploadedFile(name, data, content_type="audio/wav")
    return {"key": str(uuid4()), "file": file, "condition": "open", **more}


def a_take(instrument, *, heard=True, condition="open", microphone=None, played="", **how):
    """Take in a take of an instrument, and have it heard."""
    recording = pack_recording(wav(playing(notes_of(instrument, **how))), "take.wav")
    new = take_actions.NewTake(uuid4(), "take.wav", recording, condition, None, microphone, played)
    take = take_actions.take_in(somebody(), instrument, new)
    if heard:
        hear_all()
        take.refresh_from_db()
    return take


def hear_all():
    """Do the work of all jobs that wait, as a worker does, but within a test's transaction."""
    while (job := take_up()) is not None:
        kinds()[job.kind].done_for(Run(job), job.arguments)
