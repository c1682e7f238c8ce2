"""Single readings: kept once, struck out and back; microphones with their breath and clock."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from combwright.shop.bench import building
from combwright.shop.register.models import Heard, Instrument
from combwright.shop.register.readings import latest
from combwright.shop.tuning import actions
from combwright.shop.tuning.aims import aims
from combwright.shop.tuning.clocks import clock_of
from combwright.shop.tuning.models import Microphone
from shop.bench.days import a_set, built, plate_of, somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]


@pytest.fixture
def maker():
    client = Client()
    client.force_login(somebody("maker"))
    return client


@pytest.fixture
def two_sets():
    a_set(plates=2)


def fields(**more):
    return {
        "key": str(uuid.uuid4()), "place": "1 upper blow", "cents": "4.25", "sd": "0.09",
        "spread": "0.3", "level": "-12.5", "condition": "open", "temperature": "21.5",
        "microphone": "",
    } | more  # fmt: skip


def kept(client, instrument, **more):
    return client.post(reverse("tuning:keep", args=[instrument.serial]), fields(**more))


@pytest.fixture
def seated(two_sets):
    return Instrument.objects.get(order=built(kit="5 draw"))


def test_the_reeds_of_an_instrument_are_its_seats_and_then_its_kit(seated):
    there = aims(seated)
    assert [each.label for each in there[:4]] == ["1 blow", "1 draw", "2 blow", "2 draw"]
    assert len(there) == 21
    assert there[-1].in_kit
    assert there[-1].hz == pytest.approx(698.456, abs=0.001)  # F5: 440 * 2 ** (8 / 12)


def test_a_reading_handed_in_twice_is_kept_once(seated, maker):
    key = str(uuid.uuid4())
    first, second = (kept(maker, seated, key=key) for _ in range(2))
    assert first.json()["id"] == second.json()["id"]
    row = Heard.objects.get()
    assert (row.off_mc, row.sd_mc, row.level_db, float(row.temperature)) == (4250, 90, -12.5, 21.5)
    assert row.taken == plate_of(seated.order, "1 upper blow")


@pytest.mark.parametrize(
    ("more", "status", "words"),
    [
        ({"place": "11 upper blow"}, 409, "no reed in 11 upper blow"),
        ({"cents": "900"}, 409, "another note"),
        ({"cents": "nan"}, 422, "cents"),
        ({"key": "x"}, 422, "key"),
        ({"temperature": "warm"}, 422, "temperature"),
        ({"sd": "-1"}, 422, "sd"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_in_one_line(seated, maker, more, status, words):
    answer = kept(maker, seated, **more)
    assert answer.status_code == status
    assert words in answer.json()["words"]
    assert not Heard.objects.exists()


def test_a_reading_struck_out_no_longer_counts_until_it_is_let_in_again(seated, maker):
    kept(maker, seated, cents="1")
    kept(maker, seated, cents="2")
    last = Heard.objects.order_by("pk").last()
    for out, cents in (("yes", 1.0), ("yes", 1.0), ("no", 2.0)):
        maker.post(reverse("tuning:strike", args=[last.pk]), {"out": out})
        assert [each.cents for each in latest(seated)] == [cents]


def test_a_plate_that_comes_out_takes_its_readings_along(seated, maker):
    kept(maker, seated)
    page = reverse("tuning:one", args=[seated.serial])
    assert "+4.25" in maker.get(page).content.decode()
    building.back_to_the_bench(somebody(), seated.order)
    building.broke(somebody(), plate_of(seated.order, "1 upper blow"), because="cracked")
    assert "data-cents-last" not in maker.get(page).content.decode()


def test_the_pages_open_and_say_what_is_there(seated, maker):
    for name, arguments in (
        ("tuning:list", []), ("tuning:one", [seated.serial]), ("tuning:free", []),
        ("tuning:microphones", []),
    ):  # fmt: skip
        assert maker.get(reverse(name, args=arguments)).status_code == 200
    asked = {"key": "A", "layout": "standard", "a4": "442", "temperament": "equal"}
    page = maker.get(reverse("tuning:free"), asked | {"changes": "5 draw=D#6"})
    assert page.status_code == 200
    assert "microphone=(self)" in page.headers["Permissions-Policy"]
    wrong = maker.get(reverse("tuning:free"), asked | {"key": "H"})
    assert wrong.status_code == 422
    assert "H" in wrong.content.decode()


def test_the_list_costs_the_same_for_one_instrument_and_for_many(
    seated, maker, django_assert_num_queries
):
    maker.get(reverse("tuning:list"))
    with django_assert_num_queries(4):
        maker.get(reverse("tuning:list"))


def test_a_microphone_is_named_given_its_breath_and_its_clock(maker):
    maker.post(reverse("tuning:microphones"), {"name": "bench tablet"})
    there = Microphone.objects.get()
    assert clock_of(there).known is False
    twice = maker.post(reverse("tuning:microphones"), {"name": "bench tablet"})
    assert twice.status_code == 422
    maker.post(reverse("tuning:breath", args=[there.pk]), {"low": "-30", "high": "-18"})
    maker.post(
        reverse("tuning:tone", args=[there.pk]), {"tone": "1000", "heard": "999.97", "sd": "0.01"}
    )
    there.refresh_from_db()
    assert (there.low_db, there.high_db) == (-30, -18)
    assert there.ppm == pytest.approx(30.0009, abs=1e-3)
    assert clock_of(there).sd_cents == pytest.approx(0.01)
    maker.post(reverse("tuning:tone", args=[there.pk]), {"forget": "yes"})
    there.refresh_from_db()
    assert there.ppm is None


def test_another_tone_sets_no_clock_and_a_band_has_two_ends(maker):
    there = actions.name_microphone(somebody(), "laptop")
    answer = maker.post(
        reverse("tuning:tone", args=[there.pk]), {"tone": "1000", "heard": "880", "sd": "0.01"}
    )
    assert answer.status_code == 422
    assert "Was it another tone?" in answer.content.decode()
    answer = maker.post(reverse("tuning:breath", args=[there.pk]), {"low": "-10", "high": "-30"})
    assert answer.status_code == 422
    there.refresh_from_db()
    assert (there.ppm, there.low_db) == (None, None)
