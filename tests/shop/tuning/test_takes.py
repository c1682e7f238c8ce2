"""Takes: handed in once, heard once, whatever comes twice or breaks off."""

from uuid import uuid4

import numpy as np
import pytest
from django.urls import reverse

from combwright.files.recordings import unpack
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.worker import Worker
from combwright.shop.register.models import Heard, Take
from combwright.shop.tuning import take_actions
from combwright.shop.tuning.models import Microphone
from shop.bench.days import somebody
from shop.jobs.hands import run_out
from shop.jobs.hands import take as take_up
from shop.people.persons import text
from shop.tuning.played import (
    RATE,
    a_take,
    an_instrument,
    handed_in,
    hear_all,
    notes_of,
    playing,
    wav,
)

pytestmark = [pytest.mark.django_db, pytest.mark.data]
JSON = {"headers": {"Accept": "application/json"}}


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


def address(instrument):
    return reverse("tuning:take-in", args=[instrument.serial])


def recorded(instrument, **how):
    return wav(playing(notes_of(instrument, **how)))


def test_a_take_is_handed_in_and_heard_seat_by_seat(maker):
    one = an_instrument()
    off = {"4 draw": 6.1, "9 blow": -4.0, "1 blow": 0.7}
    sent = handed_in(recorded(one, off=off.items()), temperature="21,5", played="1 blow, 1 draw")
    answer = maker.post(address(one), sent)
    take = Take.objects.get()
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/tuning/takes/{take.pk}/")
    assert "The take waits for a worker" in text(maker.get(answer.headers["Location"]))
    hear_all()
    take.refresh_from_db()
    assert (take.state, take.missing, take.remarks) == ("heard", [], [])
    assert (take.temperature, take.title) == (pytest.approx(21.5), "take.wav")
    found = {f"{r.place.split()[0]} {r.place.split()[2]}": r for r in take.readings.all()}
    assert len(found) == 20
    for seat, reading in found.items():
        assert reading.cents == pytest.approx(off.get(seat, 0.0), abs=0.5)
        assert reading.taken.place == reading.place
        assert (reading.condition, reading.temperature) == ("open", take.temperature)
        assert reading.start_s < reading.end_s
        assert -40 < reading.level_db < 0
    assert "All seats" in text(maker.get(answer.headers["Location"]))


def test_the_sound_is_kept_to_the_last_bit_and_given_back(maker):
    one = an_instrument()
    data = recorded(one)
    maker.post(address(one), handed_in(data))
    answer = maker.get(reverse("tuning:take-sound", args=[Take.objects.get().pk]))
    whole = np.frombuffer(data[44:], "<i2")
    assert np.array_equal(unpack(answer.content).samples * 2**15, whole)


def test_a_take_that_is_sent_twice_is_kept_once_and_answered_the_same(maker):
    one = an_instrument()
    sent = handed_in(recorded(one))
    first = maker.post(address(one), sent, **JSON)
    sent["file"].seek(0)
    second = maker.post(address(one), sent, **JSON)
    without_a_file = maker.post(address(one), {"key": sent["key"]}, **JSON)
    take = Take.objects.get()
    for answer in (first, second, without_a_file):
        assert answer.status_code == 201
        assert answer.json() == {"address": f"/tuning/takes/{take.pk}/"}
    assert Job.objects.count() == 1


def test_a_key_of_another_instruments_take_is_refused(maker):
    one = an_instrument()
    other = an_instrument("W-2")
    take = a_take(one, heard=False)
    answer = maker.post(address(other), {"key": str(take.key)}, **JSON)
    assert answer.status_code == 422
    assert "another instrument" in answer.json()["words"]
    page = maker.post(address(other), {"key": str(take.key), "condition": "covered"})
    assert "another instrument" in text(page)
    assert str(take.key) not in page.content.decode()


@pytest.mark.django_db(transaction=True)
def test_a_job_that_is_taken_up_twice_writes_readings_once():
    take = a_take(an_instrument(), heard=False)
    first = take_up("one")
    run_out(first)
    assert Worker().work_off() == 1  # another worker takes it up, since the first fell silent
    take_actions.keep_heard(take, take_actions.Found([Heard()], [], [], []))  # the first comes late
    assert take.readings.count() == 20
    assert Take.objects.get().state == Take.HEARD
    Job.objects.create(kind=take_actions.KIND, arguments={"take": take.pk})
    assert Worker().work_off() == 1
    assert Heard.objects.count() == 20
    assert set(Job.objects.values_list("state", flat=True)) == {Job.DONE}


def test_a_take_whose_job_came_to_nothing_says_so_and_is_heard_again(maker):
    take = a_take(an_instrument(), heard=False)
    Job.objects.update(state=Job.FAILED, error="The worker fell over.")
    where = reverse("tuning:take", args=[take.pk])
    page = text(maker.get(where))
    assert "The worker fell over. The recording is kept." in page
    assert maker.post(reverse("tuning:take-again", args=[take.pk])).status_code == 302
    hear_all()
    assert take.readings.count() == 20
    maker.post(reverse("tuning:take-again", args=[take.pk]))
    assert not Job.objects.filter(state__in=Job.OPEN).exists()


def test_the_clock_of_the_microphone_is_reckoned_with():
    one = an_instrument()
    fast = Microphone.objects.create(name="fast", ppm=300.0, sd_ppm=2.0, made_by=somebody())
    by_unknown, by_known = a_take(one), a_take(one, microphone=fast)
    pairs = zip(by_unknown.readings.order_by("place"), by_known.readings.order_by("place"),
                strict=True)  # fmt: skip
    for unknown, known in pairs:
        # 300 millionths are 1200 log2(1.0003) = 0.519 cents; 50 of them, not known, 0.087.
        assert known.off_mc - unknown.off_mc == pytest.approx(519, abs=1)
        assert unknown.sd_mc >= 87
        assert known.sd_mc < unknown.sd_mc


def test_another_order_of_playing_tells_seats_of_one_pitch_apart():
    one = an_instrument()
    order = "3 blow, 1 blow, 1 draw, 2 blow, 2 draw"
    take = a_take(one, played=order, without=("3 blow",))
    assert [each["label"] for each in take.missing] == ["3 blow"]


def test_seats_in_each_others_place_and_silent_ones_are_told():
    take = a_take(an_instrument(), swapped=[("3 draw", "7 draw")], without=("9 blow",))
    assert take.remarks == [{"what": "interchanged", "seats": ["3 draw", "7 draw"]}]
    assert take.missing == [{"place": "9 upper blow", "label": "9 blow"}]
    unsure = {reading.place for reading in take.readings.filter(unsure=True)}
    assert {"3 lower draw", "7 lower draw"} <= unsure


TONE = 0.3 * np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)


def two_hours():
    """Return a short FLAC file whose head promises two hours: 36 bits from the 22nd byte on."""
    data = bytearray(wav(playing((440.0,)), kind="FLAC"))
    data[21:26] = ((data[21] >> 4 << 36) + 7200 * RATE).to_bytes(5, "big")
    return bytes(data)


def a_file(samples, **how):
    return wav(playing((440.0,)), samples=samples, **how)


BAD_FILES = [
    (lambda: a_file(np.zeros(RATE)), "take.wav is silent"),
    (lambda: a_file(TONE[:200]), "take.wav lasts 9 ms"),
    (lambda: a_file(TONE, kind="MP3", subtype="MPEG_LAYER_III"), "holds MP3 sound"),
    (lambda: b"no sound" * 100, "take.wav is no recording, or a damaged one"),
    (lambda: b"\0", "take.wav is no recording, or a damaged one"),
    (two_hours, "take.wav lasts 2 h 0 min and was not read; the most is 5 min"),
]


def test_a_bad_file_is_refused_in_one_line_and_what_was_typed_is_kept(maker):
    one = an_instrument()
    for data, line in BAD_FILES:
        sent = handed_in(data(), temperature="23.5", condition="covered", played="1 blow")
        answer = maker.post(address(one), sent)
        assert answer.status_code == 422
        assert line in text(answer)
        for typed in ('value="23.5"', 'value="1 blow"', 'value="covered" selected', sent["key"]):
            assert typed in answer.content.decode()
        sent["file"].seek(0)
        told = maker.post(address(one), sent, **JSON)
        assert told.status_code == 422
        assert line in told.json()["words"]
        assert len(told.json()["words"].splitlines()) == 1
    assert not Take.objects.exists()
    assert not Job.objects.exists()


TYPED_WRONG = [
    ({"temperature": "hot"}, "Temperature in °C: "),
    ({"temperature": "99"}, "Temperature in °C: "),
    ({"condition": "bare"}, "How it was mounted: "),
    ({"key": "1"}, "key: "),
    ({"played": "12 blow"}, "There is no hole 12"),
    ({"played": "1 blow, 1 blow"}, "'1 blow' stands twice"),
    ({"file": ""}, "This field is required."),
]


def test_what_is_typed_wrong_is_said_in_one_line(maker):
    one = an_instrument()
    for more, line in TYPED_WRONG:
        answer = maker.post(address(one), handed_in(a_file(TONE), **more), **JSON)
        assert answer.status_code == 422
        assert line in answer.json()["words"]
    assert not Take.objects.exists()


def test_poor_recordings_are_heard_with_a_warning(maker):
    one = an_instrument()
    whole = playing(notes_of(one))
    sides = np.column_stack([np.zeros(len(whole.samples)), whole.samples])
    maker.post(address(one), handed_in(wav(whole, samples=sides, subtype="PCM_24")))
    maker.post(address(one), handed_in(wav(whole, samples=np.clip(4 * whole.samples, -1, 1))))
    low = playing(notes_of(one), rate=8_000)
    maker.post(address(one), handed_in(wav(low)))
    hear_all()
    dead, clipped, poor = Take.objects.order_by("pk")
    assert dead.warnings == ["take.wav: side 1 is dead; the other is measured."]
    assert "of the sound is clipped; turn the microphone down." in clipped.warnings[0]
    assert "nothing above 4,000 Hz is heard" in poor.warnings[0]
    assert [take.readings.count() for take in (dead, clipped)] == [20, 20]
    # Of the highest reeds a telephone's rate leaves one partial; not each need be found.
    assert poor.readings.count() + len(poor.missing) == 20
    assert len(poor.missing) <= 2


def speech(seconds=3):
    """Return noise as a voice has it: gliding pitch, broken into syllables."""
    rng = np.random.default_rng(7)
    t = np.arange(round(seconds * RATE)) / RATE
    hz = 120 * 2 ** (0.4 * np.sin(2 * np.pi * 2.3 * t) + 0.2 * np.sin(2 * np.pi * 0.9 * t))
    phase = 2 * np.pi * np.cumsum(hz) / RATE
    voice = sum(np.sin(h * phase) / h for h in range(1, 15))
    syllables = np.clip(np.sin(2 * np.pi * 3.1 * t), 0, None)
    return 0.1 * voice * syllables + rng.normal(0, 0.01, len(t))


def test_a_recording_without_a_reed_is_kept_and_says_so(maker):
    one = an_instrument()
    maker.post(address(one), handed_in(a_file(speech())))
    hear_all()
    take = Take.objects.get()
    assert (take.state, take.readings.count()) == (Take.UNHEARD, 0)
    page = text(maker.get(reverse("tuning:take", args=[take.pk])))
    assert "No reed of this instrument is heard in the recording." in page
    assert Job.objects.get().state == Job.DONE


def test_an_instrument_without_plates_takes_nothing_in(maker):
    one = an_instrument()
    one.fitted.update(taken_out_at=one.made_at)
    assert "there is nothing to hear" in text(maker.get(address(one)))
    answer = maker.post(address(one), handed_in(a_file(TONE)), **JSON)
    assert (answer.status_code, Take.objects.count()) == (422, 0)


def test_packers_and_the_office_hand_nothing_in(client):
    one = an_instrument()
    for role in ("packer", "office"):
        client.force_login(somebody(role))
        assert client.post(address(one), {"key": str(uuid4())}).status_code == 403
