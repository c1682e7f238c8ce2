"""Two takes beside each other: by their readings at once, by their sound as a job, done once."""

import re

import numpy as np
import pytest
from django.urls import reverse

from combwright.files.recordings import pack, unpack
from combwright.shop.jobs.models import Job
from combwright.shop.register.models import Recording, Take
from combwright.shop.tuning.models import Comparison, Microphone
from combwright.shop.tuning.take_comparing import compare_takes
from shop.bench.days import somebody
from shop.people.persons import text
from shop.tuning.played import a_take, an_instrument, hear_all

pytestmark = pytest.mark.django_db


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


def against(a, b, page="against"):
    return reverse(f"tuning:{page}", args=[a.pk, b.pk])


def test_two_takes_stand_beside_each_other_seat_by_seat(maker):
    one = an_instrument()
    a, b = a_take(one), a_take(one, off={"4 draw": 5.0}.items(), without=("9 blow",))
    page = text(maker.get(against(a, b)))
    assert re.search(r"4 draw D5 -?[+\u2212]?0\.\d\d \+[45]\.\d\d [45]\.\d\d 0\.\d\d differs", page)
    assert page.count("differs") == 1 + page.count("differs from take to take")
    assert "not in both" in page
    assert "Compare their sound" in page


def test_the_sound_is_compared_once_as_a_job_and_the_page_tells_what_was_found(maker):
    one = an_instrument()
    a, b = a_take(one), a_take(one, off={"4 draw": 9.0}.items())
    quieter = unpack(bytes(b.recording.data))
    quieter.samples[:] *= 10 ** (-6 / 20)
    Recording.objects.filter(take=b).update(data=pack(quieter, 24))
    assert maker.post(against(a, b, "compare")).status_code == 302
    assert "waits for a worker" in text(maker.get(against(a, b)))
    maker.post(against(a, b, "compare"))
    assert Job.objects.filter(kind="compare takes").count() == 1
    hear_all()
    page = maker.get(against(a, b))
    assert "The same within 1.5 dB and 3 cents at 95 %: 0 of 20 notes." in text(page)
    assert re.search(r"B is 6\.0\d dB quieter than A", text(page))
    assert "<svg" in page.content.decode()
    maker.post(against(a, b, "compare"))
    assert Job.objects.filter(kind="compare takes").count() == 1
    maker.post(against(a, b, "compare"), {"levels": "matched"})
    hear_all()
    page = text(maker.get(against(a, b), {"levels": "matched"}))
    assert "The same within 1.5 dB and 3 cents at 95 %: 19 of 20 notes." in page
    assert re.search(r"4 draw D5 ✕? ?different", page)
    assert Comparison.objects.count() == 2


def test_instruments_with_other_notes_in_a_seat_are_compared_where_they_agree():
    one = an_instrument()
    other = an_instrument("W-2", changes="5 draw=F#5")
    a, b = a_take(one), a_take(other)
    found = compare_takes(a, b, matched=False)
    assert found["all"] == 19
    assert found["only"] == [["5 draw"], ["5 draw"]]


def test_two_clocks_are_reckoned_with_and_one_makes_no_difference():
    one = an_instrument()
    made = {"sd_ppm": 1.0, "made_by": somebody()}
    fast = Microphone.objects.create(name="fast", ppm=300.0, **made)
    right = Microphone.objects.create(name="right", ppm=0.0, **made)
    plain, by_right, by_fast = (
        a_take(one),
        a_take(one, microphone=right),
        a_take(one, microphone=fast),
    )

    def shift(a, b):
        notes = compare_takes(a, b, matched=False)["notes"]
        return np.mean([note["pitch"]["is"] for note in notes])

    assert shift(by_right, by_fast) == pytest.approx(0.519, abs=0.01)
    again = a_take(one, microphone=fast)
    assert shift(by_fast, again) == pytest.approx(0.0, abs=0.001)
    assert shift(plain, plain) == 0


def test_another_take_is_chosen_by_number_or_by_serial_number(maker):
    one, other = an_instrument(), an_instrument("W-2")
    a, b, c = a_take(one), a_take(one), a_take(other)
    choose = reverse("tuning:take-choose", args=[a.pk])
    assert f'<option value="{b.pk}">' in maker.get(choose).content.decode()
    for typed, chosen in (
        ({"same": b.pk}, b),
        ({"serial": other.serial}, c),
        ({"serial": one.serial}, b),
    ):
        answer = maker.get(choose, typed)
        assert answer.headers["Location"] == against(a, chosen)
    Take.objects.filter(pk=c.pk).update(struck_at=c.at)
    for typed, line in (
        ({"serial": other.serial}, "has no other take that was heard and counts"),
        ({"serial": "nought"}, "There is no instrument 'nought'."),
        ({"same": b.pk, "serial": "1"}, "one of the two"),
        ({"same": c.pk}, "not one of the available choices"),
    ):
        answer = maker.get(choose, typed)
        assert answer.status_code == 422
        assert line in text(answer)


def test_what_cannot_be_compared_says_why(maker):
    one = an_instrument()
    a, b = a_take(one), a_take(one, heard=False)
    answer = maker.post(against(a, b, "compare"), follow=True)
    assert f"Take {b.pk} was not heard; compare others." in text(answer)
    answer = maker.post(against(a, a, "compare"), follow=True)
    assert "compared with itself" in text(answer)
    hear_all()
    Recording.objects.filter(take=b).update(data=pack(unpack(bytes(a.recording.data)).part(0, 0.2)))
    maker.post(against(a, b, "compare"))
    hear_all()
    assert "No note of this layout is heard in B" in text(maker.get(against(a, b)))
