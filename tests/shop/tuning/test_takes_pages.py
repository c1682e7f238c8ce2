"""The page of a take: what is out of tolerance first, and what has changed since the one before."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from combwright.shop.designs.models import Design
from combwright.shop.register.models import Heard, Take
from combwright.shop.tuning import take_queries
from combwright.shop.tuning.models import Microphone
from combwright.shop.tuning.take_shown import remarks_of
from shop.bench.days import somebody
from shop.people.persons import text
from shop.tuning.played import a_take, an_instrument

pytestmark = pytest.mark.django_db


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


def page_of(maker, take):
    return maker.get(reverse("tuning:take", args=[take.pk]))


def known():
    """Return a microphone whose clock is known, so that what is unsure is the reed's alone."""
    made = {"ppm": 0.0, "sd_ppm": 1.0, "made_by": somebody()}
    return Microphone.objects.get_or_create(name="known", defaults=made)[0]


OFF = {"4 draw": 6.1, "9 blow": -11.0, "2 draw": 2.0}


def test_what_is_out_of_tolerance_comes_first_the_worst_before_the_others(maker):
    take = a_take(an_instrument(), off=OFF.items(), swapped=[("3 draw", "7 draw")])
    page = text(page_of(maker, take))
    assert "3 draw: " not in page
    words = [
        "9 blow: 11.0 cents low; raise it: file the tip",
        "4 draw: 6.1 cents high; lower it: file the root",
        "3 draw and 7 draw seem interchanged",
        "All seats",
    ]
    found = [re.sub(r"\.\d", "", page).find(re.sub(r"\.\d", "", each)) for each in words]
    assert -1 not in found
    assert found == sorted(found)
    assert "2 draw: 2" not in page


def test_the_workshops_own_tolerance_decides(maker):
    one = an_instrument()
    take = a_take(one, off={"4 draw": 6.1}.items())
    assert "4 draw: 6" in text(page_of(maker, take))
    Design.objects.create(
        kind=Design.WORKSHOP, code="workshop", title="workshop", title_key="workshop",
        toml="[retune]\nfree_cents = 8\n", changed_by=somebody(),
    )  # fmt: skip
    page = text(page_of(maker, take))
    assert "4 draw: 6" not in page
    assert "All that was heard is within 8 cents." in page


def test_every_seat_stands_in_the_table_and_the_picture_with_its_whisker(maker):
    take = a_take(an_instrument(), off=OFF.items(), without=("10 blow",))
    page = page_of(maker, take).content.decode()
    assert len(re.findall(r'class="whisker"', page)) == 19 + 1  # and one that explains
    assert len(re.findall(r'class="bar out"', page)) == 2 + 1
    table = page[page.index("<tbody>") : page.index("</tbody>")]
    assert len(re.findall("<tr>", table)) == 20
    assert "10 blow was not heard: silent, or not played." in text(page_of(maker, take))
    for reading in take.readings.all():
        assert f"{1.96 * reading.sd_cents:.2f}" in table


def test_the_take_before_stands_beside_it_and_what_changed_is_told(maker):
    one, mic = an_instrument(), known()
    first = a_take(one, off=OFF.items(), microphone=mic)
    a_take(one, condition="covered", off={"1 blow": 30}.items(), microphone=mic)
    second = a_take(one, off={"9 blow": -2.0, "2 draw": 2.0}.items(), microphone=mic)
    page = text(page_of(maker, second))
    assert f"Beside take {first.pk} of" in page
    told = re.search(r"Beyond what is unsure these have changed: ([^.]*\.\d[^.]*\.\d)", page)[1]
    assert told.startswith("9 blow +9.0, 4 draw \u22126.")
    assert page_of(maker, second).content.decode().count('class="before"') == 20 + 1
    assert "Beside" not in text(page_of(maker, first))


def test_a_struck_take_counts_no_more_until_it_is_let_count_again(maker):
    one = an_instrument()
    first = a_take(one, off=OFF.items())
    second = a_take(one)
    where = reverse("tuning:take-strike", args=[first.pk])
    answer = maker.post(where, {"out": "yes"}, follow=True)
    assert "is struck out: its readings no longer count" in text(answer)
    assert "Maker struck it out on" in text(answer)
    assert take_queries.take_before(second) is None
    maker.post(where, {"out": "yes"})
    assert Take.objects.get(pk=first.pk).struck_by == somebody("maker")
    maker.post(where, {"out": "no"})
    assert take_queries.take_before(second) == first
    assert Take.objects.get(pk=first.pk).struck_by is None


def test_the_latest_reading_of_each_seat_is_the_last_that_counts():
    one = an_instrument()
    first = a_take(one, off={"4 draw": 6.1}.items())
    second = a_take(one, without=("4 draw",))
    heard = take_queries.latest(one)
    assert len(heard) == 20
    assert heard["4 lower draw"].take_id == first.pk
    assert heard["1 upper blow"].take_id == second.pk
    single = one.heard.get(take=second, place="1 upper blow")
    single.pk = single.take = None
    single.key = "00000000-0000-4000-8000-000000000001"
    single.off_mc = 1234
    single.save()
    assert take_queries.latest(one)["1 upper blow"] == single
    Take.objects.filter(pk=second.pk).update(struck_at=first.at)
    Heard.objects.filter(pk=single.pk).update(struck_at=first.at)
    assert {each.take_id for each in take_queries.latest(one).values()} == {first.pk}
    one.fitted.filter(hole=1, deck="upper").update(taken_out_at=first.at)
    assert "1 upper blow" not in take_queries.latest(one)


def test_the_latest_readings_take_the_same_queries_after_many_takes(django_assert_num_queries):
    one = an_instrument()
    a_take(one)
    with CaptureQueriesContext(connection) as few:
        take_queries.latest(one)
    rows = list(one.heard.values())
    for n in range(5):
        Heard.objects.bulk_create(
            Heard(**{**row, "id": None, "key": f"{n:08d}-0000-4000-8000-{row['id']:012d}"})
            for row in rows
        )
    with django_assert_num_queries(len(few)):
        assert len(take_queries.latest(one)) == 20
    assert len(few) <= 2


def test_the_pages_take_the_same_queries_whatever_was_heard(maker):
    one = an_instrument()
    takes = [a_take(one, without=[f"{n} blow" for n in range(2, 11)]), a_take(one), a_take(one)]

    def queries(where):
        with CaptureQueriesContext(connection) as done:
            assert maker.get(where).status_code == 200
        return len(done)

    second, third = (reverse("tuning:take", args=[each.pk]) for each in takes[1:])
    assert queries(second) == queries(third)
    listed = reverse("tuning:take-in", args=[one.serial])
    before = queries(listed)
    takes[0].pk, takes[0].key = None, "00000000-0000-4000-8000-000000000002"
    takes[0].save()
    assert queries(listed) == before
    assert len(maker.get(listed).context["page"].object_list) == 4


def test_a_seat_of_which_breath_alone_was_heard_is_said_to_be_silent():
    take = Take(
        remarks=[{"what": "silent", "seats": ["3 draw"]}],
        missing=[
            {"place": "3 lower draw", "label": "3 draw"},
            {"place": "4 lower draw", "label": "4 draw"},
        ],
    )
    assert list(remarks_of(take)) == [
        "3 draw is silent: breath at its turn, but no note.",
        "4 draw was not heard: silent, or not played.",
    ]
