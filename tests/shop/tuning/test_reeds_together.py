"""Two or three reeds at once, from a recording that is handed in."""

import io

import numpy as np
import pytest
import soundfile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from combwright.notes.pitch import hertz
from combwright.shop.register.models import Instrument
from ear.reeds import reed
from shop.bench.days import a_set, built, somebody
from shop.people.persons import text

pytestmark = pytest.mark.django_db
PARTS = (1.0, 0.6, 0.4, 0.25, 0.15, 0.1, 0.06)
RATE = 44_100


@pytest.fixture
def address():
    a_set()
    return reverse("tuning:together", args=[Instrument.objects.get(order=built()).serial])


@pytest.fixture
def maker():
    client = Client()
    client.force_login(somebody("maker"))
    return client


def recording(*notes, seconds=0.7):
    """Return a file in which reeds sound at once, each a MIDI number and cents off it."""
    rng = np.random.default_rng(9)
    sounds = [
        reed(float(hertz(midi, off)), seconds, rng=rng, rate=RATE, parts=PARTS, snr_db=30)[0]
        for midi, off in notes
    ]
    file = io.BytesIO()
    soundfile.write(file, sum(sounds), RATE, format="WAV", subtype="PCM_16")
    return SimpleUploadedFile("together.wav", file.getvalue())


def test_an_octave_is_heard_as_beats_and_as_two_reeds(maker, address):
    """1 blow true and 4 blow five cents high beat 2 * 261.626 * (2 ** (5 / 1200) - 1) = 1.51."""
    file = recording((60, 0.0), (72, 5.0))
    answer = maker.post(address, {"reeds": ["1 upper blow", "4 upper blow"], "file": file})
    said = text(answer)
    assert answer.status_code == 200
    assert "1 blow and 4 blow beat 1.51 times a second" in said
    assert "Touch 4 blow, 5.0" in said
    assert "cents too high" in said


def test_a_lone_reed_is_not_taken_for_two(maker, address):
    file = recording((60, 0.0))
    said = text(maker.post(address, {"reeds": ["1 upper blow", "4 upper blow"], "file": file}))
    assert "Only 1 of 2 reeds can be told" in said


@pytest.mark.parametrize(
    ("reeds", "words"),
    [
        (["1 upper blow"], "1 reeds are ticked; two or three"),
        (["11 upper blow", "1 upper blow"], "11 upper blow"),
    ],
)
def test_a_wrong_choice_is_refused_in_one_line(maker, address, reeds, words):
    answer = maker.post(address, {"reeds": reeds, "file": recording((60, 0.0))})
    assert answer.status_code == 422
    assert words in text(answer)


def test_a_file_that_is_no_sound_is_refused_in_one_line(maker, address):
    file = SimpleUploadedFile("notes.wav", b"no sound at all")
    answer = maker.post(address, {"reeds": ["1 upper blow", "4 upper blow"], "file": file})
    assert answer.status_code == 422
    assert "notes.wav is no recording" in text(answer)


def test_the_page_opens_with_reeds_ticked_that_its_address_names(maker, address):
    page = maker.get(address + "?reed=1+upper+blow").content.decode()
    assert page.count("checked") == 1
