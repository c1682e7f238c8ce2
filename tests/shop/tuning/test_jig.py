"""Bare plates on a jig: samples by microphone, bins sorted by pitch, the shift to the seat."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from combwright.shop.arrivals import actions as samples
from combwright.shop.arrivals.models import Draw, Reading
from combwright.shop.rack.models import Bin
from combwright.shop.rack.queries import ledger_faults
from combwright.shop.register.models import Heard, Instrument
from combwright.shop.tuning.models import Sorted
from combwright.shop.tuning.shifts import shifts
from shop.arrivals.samples import a_batch, a_sample
from shop.bench.days import a_set, built, somebody
from shop.rack.shelves import a_bin

pytestmark = [pytest.mark.django_db, pytest.mark.data]


@pytest.fixture
def maker():
    client = Client()
    client.force_login(somebody("maker"))
    return client


def heard(place, cents, **more):
    return {
        "key": str(uuid.uuid4()), "place": str(place), "cents": str(cents), "sd": "0.1",
        "level": "-14", "temperature": "20.5", "jig": "jig 2", "microphone": "",
    } | more  # fmt: skip


def post(client, name, argument, fields):
    return client.post(reverse(f"tuning:{name}", args=[argument]), fields)


def test_a_plate_heard_goes_to_its_bin_with_how_it_was_heard(maker):
    made = a_sample(a_batch(12, 12), sample=6, accept=1)
    draw = made.draws.first()
    fields = heard(draw.bin_id, 4.5)
    first, again = (post(maker, "sample-read", made.pk, fields) for _ in range(2))
    assert (first.status_code, first.json()["id"]) == (201, again.json()["id"])
    reading = Reading.objects.get()
    assert (reading.bin, reading.cents, reading.sd_mc) == (draw.bin, 4.5, 100)
    assert (reading.jig, reading.level_db, float(reading.temperature)) == ("jig 2", -14, 20.5)
    assert first.json()["left"] == draw.plates - 1


def test_the_page_aims_at_what_a_bins_plates_should_be(maker):
    a_bin("s-1", 12, batch="b9", millicents=20_000)
    made = a_sample(Bin.objects.get().batch, lot=12, sample=3, accept=0)
    page = maker.get(reverse("tuning:sample", args=[made.pk])).content.decode()
    assert '"hz": 264.66' in page  # C4, 20 cents high
    post(maker, "sample-read", made.pk, heard(made.draws.get().bin_id, -1.5))
    assert Reading.objects.get().cents == pytest.approx(18.5)
    assert not Reading.objects.get().bad


def test_the_last_plate_closes_the_sample_and_leads_back_to_it(maker):
    made = a_sample(a_batch(12), lot=12, sample=2, accept=0)
    where = made.draws.get().bin_id
    post(maker, "sample-read", made.pk, heard(where, 1))
    last = post(maker, "sample-read", made.pk, heard(where, 2))
    assert last.json()["address"] == reverse("arrivals:one", args=[made.pk])
    late = post(maker, "sample-read", made.pk, heard(where, 2))
    assert late.status_code == 409
    assert "closed" in late.json()["words"]


@pytest.mark.parametrize(
    ("more", "words"), [({"cents": "x"}, "cents"), ({"place": "here"}, "place")]
)
def test_a_reading_that_cannot_be_is_refused_in_one_line(maker, more, words):
    made = a_sample(a_batch(12), lot=12, sample=2, accept=0)
    refused = post(maker, "sample-read", made.pk, heard(made.draws.get().bin_id, 1) | more)
    assert refused.status_code == 422
    assert refused.json()["words"].startswith(words)


def test_a_bin_is_sorted_by_pitch_and_a_plate_can_be_laid_back(maker):
    source = a_bin("A-03", 4)
    fields = heard(source.pk, 6.1, step="5")
    said = [post(maker, "lay", "A-03", fields).json() for _ in range(2)]
    assert said[0]["words"] == "lay it into A-03 at +5"
    assert said[0]["id"] == said[1]["id"]
    post(maker, "lay", "A-03", heard(source.pk, 4.0, step="5"))
    post(maker, "lay", "A-03", heard(source.pk, 1.0, step="5"))
    there = dict(Bin.objects.values_list("code", "count"))
    assert there == {"A-03": 2, "A-03 at +5": 2}
    new = Bin.objects.get(code="A-03 at +5")
    assert (new.cents, new.slot_um, new.batch) == (5.0, source.slot_um, source.batch)
    laid = Sorted.objects.order_by("pk").first()
    for _ in range(2):
        maker.post(reverse("tuning:take-back", args=[laid.pk]))
    assert dict(Bin.objects.values_list("code", "count")) == {"A-03": 3, "A-03 at +5": 1}
    assert list(ledger_faults()) == []


@pytest.mark.parametrize(
    ("plates", "cents", "step", "words"),
    [
        (1, 130, "5", "another note"),
        (0, 7, "5", "A-03"),
        (1, 7, "3", "not 3"),
        (1, 7, "", "not 0"),
    ],
)
def test_a_plate_that_cannot_be_sorted_stays_where_it_is(maker, plates, cents, step, words):
    source = a_bin("A-03", plates)
    refused = post(maker, "lay", "A-03", heard(source.pk, cents, step=step))
    assert refused.status_code == 409
    assert words in refused.json()["words"]
    assert dict(Bin.objects.values_list("code", "count")) == {"A-03": plates}
    assert not Sorted.objects.exists()


def heard_in_seats(instrument, shift_mc, *, stray=400):
    """Hear each plate of an instrument in its seat, so much higher than its bin says."""
    for n, each in enumerate(instrument.fitted.select_related("taken")):
        Heard.objects.create(
            instrument=instrument, taken=each.taken, midi=each.midi, wanted_mc=each.wanted_mc,
            place=f"{each.hole} {each.deck} {each.breath}", sd_mc=100, by=somebody(),
            off_mc=shift_mc - each.taken.retune_mc + stray * (-1) ** n,
        )  # fmt: skip


def test_the_shift_from_jig_to_seat_is_learned_and_taken_over(maker):
    a_set(plates=3, cents=2)
    batch = Bin.objects.first().batch
    made = a_sample(batch, lot=60, sample=40, accept=2, tolerance=100_000)
    for draw in made.draws.all():
        for _ in range(draw.plates):
            made.refresh_from_db()
            if made.open:
                samples.add_reading(made, draw.bin, somebody("maker"), cents=2.0)
    samples.take_offsets(made, [draw.bin_id for draw in made.draws.all()], somebody("maker"))
    instrument = Instrument.objects.get(order=built())
    assert shifts() == []
    heard_in_seats(instrument, -3_000)
    # A second look at the same plates, after filing, tells nothing of the shift.
    heard_in_seats(instrument, 0)
    (found,) = shifts()
    assert found.plates == Draw.objects.filter(after__isnull=False).count()
    assert found.cents == pytest.approx(-3.0, abs=0.1)
    assert found.sd_cents == pytest.approx(0.4 / found.plates**0.5, rel=0.1)
    assert found.enough


def test_means_are_taken_over_with_the_shift_and_the_shift_stays_what_it_was(maker):
    test_the_shift_from_jig_to_seat_is_learned_and_taken_over(maker)
    before = shifts()[0].cents
    batch = Bin.objects.first().batch
    made = a_sample(batch, lot=40, sample=30, accept=2, tolerance=100_000)
    for draw in made.draws.all():
        for _ in range(draw.plates):
            made.refresh_from_db()
            if made.open:
                samples.add_reading(made, draw.bin, somebody("maker"), cents=2.0)
    taken = Draw.objects.filter(inspection=made)
    samples.take_offsets(
        made, [draw.bin_id for draw in taken], somebody("maker"), shift_mc=round(1000 * before)
    )
    for draw in taken.exclude(after=None).select_related("bin"):
        assert (draw.shift, draw.after) == (round(1000 * before), 2000 + round(1000 * before))
        assert draw.bin.millicents == draw.after
