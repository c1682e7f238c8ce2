import html
import re

import pytest
from django.test import Client
from django.urls import reverse

from combwright.shop.counting import urls
from combwright.shop.counting.models import Ask, Round
from combwright.shop.people.roles import TABLE, May, Role
from combwright.shop.rack import actions as rack
from combwright.shop.rack.models import Bin, Entry
from shop.counting.rounds import a_rack, a_round, counted
from shop.rack.shelves import a_bin, somebody

pytestmark = pytest.mark.django_db
EVERYONE, BOOKING = TABLE[May.COUNT], TABLE[May.BOOK]
#: Page, method, what is sent, who may.
PAGES = [
    ("rounds", "get", {}, EVERYONE),
    ("rounds", "post", {"most": 5}, EVERYONE),
    ("round", "get", {}, EVERYONE),
    ("next", "get", {}, EVERYONE),
    ("bin", "get", {}, EVERYONE),
    ("bin", "post", {"found": 3, "line": 0}, EVERYONE),
    ("skip", "post", {}, EVERYONE),
    ("unskip", "post", {}, EVERYONE),
    ("sheet", "get", {}, EVERYONE),
    ("book", "post", {}, BOOKING),
    ("give-up", "post", {}, BOOKING),
    ("again", "post", {}, BOOKING),
]
FOR_ALL, FOR_A_BIN = {"rounds"}, {"bin", "skip"}


def address(page, round_, place=1):
    args = [] if page in FOR_ALL else [round_.pk]
    return reverse(f"counting:{page}", args=[*args, place] if page in FOR_A_BIN else args)


def text(response):
    bare = re.sub(r"<[^>]*>", " ", response.content.decode())
    return " ".join(html.unescape(bare).split())


def state():
    return [list(model.objects.order_by("pk").values()) for model in (Round, Ask, Entry, Bin)]


@pytest.fixture
def owner(client):
    client.force_login(somebody("owner"))
    return client


@pytest.fixture
def round_():
    a_rack(5, 3)
    return a_round()


def typed(client, round_, place, found, **more):
    page = client.get(address("bin", round_, place))
    form = page.context["form"]
    sent = {"found": found, "seen": form.initial["seen"], "line": form.initial["line"]} | more
    return client.post(address("bin", round_, place), sent)


def test_no_page_is_missing_from_the_table():
    assert {page for page, *_ in PAGES} == {each.name for each in urls.urlpatterns}


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize(("page", "method", "sent", "who"), PAGES)
def test_each_role_sees_its_pages_and_no_others(client, round_, role, page, method, sent, who):
    client.force_login(somebody(role))
    before = state()
    answer = getattr(client, method)(address(page, round_), sent)
    if role in who:
        assert answer.status_code in (200, 302, 409, 422)
    else:
        assert answer.status_code == 403
        assert state() == before


@pytest.mark.parametrize(("page", "method", "sent", "who"), PAGES)
def test_nobody_gets_in_without_logging_in(client, round_, page, method, sent, who):
    answer = getattr(client, method)(address(page, round_), sent)
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/people/login/")


@pytest.mark.parametrize("page", ["rounds", "round", "next", "bin", "sheet"])
def test_looking_changes_nothing(owner, round_, page):
    before = state()
    owner.get(address(page, round_))
    assert state() == before


@pytest.mark.parametrize("page", ["skip", "unskip", "book", "give-up", "again"])
def test_what_changes_something_is_never_done_by_a_link(owner, round_, page):
    assert owner.get(address(page, round_)).status_code == 405


@pytest.mark.parametrize(("page", "method", "sent", "who"), [p for p in PAGES if p[1] == "post"])
def test_a_form_from_elsewhere_is_refused(round_, page, method, sent, who):
    client = Client(enforce_csrf_checks=True)
    client.force_login(somebody("owner"))
    before = state()
    assert client.post(address(page, round_), sent).status_code == 403
    assert state() == before


def test_a_round_is_counted_bin_by_bin_and_booked(owner):
    a_bin("A-1", 5)
    a_bin("A-2", 73)
    started = owner.post(reverse("counting:rounds"), {"most": 20}, follow=True)
    assert "0 of 2 bins counted" in text(started)
    assert "never counted" in text(started)
    round_ = Round.objects.get()
    first = owner.get(address("next", round_), follow=True)
    assert "Bin A-1" in text(first)
    agreed = typed(owner, round_, 1, 5)
    page = owner.get(agreed.headers["Location"], follow=True)
    assert "Bin A-1 agrees." in text(page)
    assert "Bin A-2" in text(page)
    assert "73" not in text(page)
    differs = owner.get(typed(owner, round_, 2, 71).headers["Location"])
    assert "71 found, 73 in the ledger" in text(differs)
    assert "Second count" in text(differs)
    end = owner.get(address("next", round_), follow=True)
    assert "2 of 2 bins counted" in text(end)
    assert "to be booked" in text(end)
    booked = owner.post(address("book", round_), follow=True)
    assert "The round is booked as entry" in text(booked)
    assert Bin.objects.get(code="A-2").count == 71


def test_the_ledgers_number_is_not_shown_before_one_was_typed(owner):
    a_bin("A-1", 7391)
    round_ = a_round()
    for page in ("bin", "round", "sheet", "rounds"):
        assert "7391" not in owner.get(address(page, round_)).content.decode().replace(",", "")


@pytest.mark.parametrize(
    ("typed_in", "why"),
    [
        ("", "an empty bin is 0"),
        ("four", "Enter a whole number"),
        ("-1", "greater than or equal to 0"),
        ("3.5", "Enter a whole number"),
        ("999999999", "less than or equal to"),
    ],
)
def test_a_number_that_cannot_be_is_refused_and_kept(owner, round_, typed_in, why):
    answer = typed(owner, round_, 1, typed_in)
    assert answer.status_code == 422
    assert why in text(answer)
    assert f'value="{typed_in}"' in answer.content.decode() or not typed_in
    assert round_.asks.get(place=1).found is None


def test_plates_booked_meanwhile_are_shown_and_the_number_is_kept(owner, round_):
    page = owner.get(address("bin", round_)).context["form"].initial
    rack.scrap(somebody("maker"), Bin.objects.get(code="A-1"), 1, note="bent")
    sent = {"found": 4, "seen": page["seen"], "line": page["line"]}
    answer = owner.post(address("bin", round_), sent)
    assert answer.status_code == 409
    assert "were booked while you counted" in text(answer)
    assert "scrapped -1, Maker" in text(answer)
    assert round_.asks.get(place=1).found is None
    fields = dict(
        re.findall(r'name="(found|seen|line|sure)" value="([^"]*)"', answer.content.decode())
    )
    assert owner.post(address("bin", round_), fields).status_code == 302
    assert round_.asks.get(place=1).found == 4


def test_a_count_by_two_offers_either_number(owner, round_):
    page = owner.get(address("bin", round_)).context["form"].initial
    counted(round_, 1, 4, person=somebody("maker"))
    sent = {"found": 6, "seen": page["seen"], "line": page["line"]}
    answer = owner.post(address("bin", round_), sent)
    assert answer.status_code == 409
    assert "Maker counted bin A-1 meanwhile, and found 4" in text(answer)
    assert "Keep mine: 6" in text(answer)
    assert "Keep theirs: 4" in text(answer)


def test_a_refused_booking_says_why_on_the_round(owner, round_):
    answer = owner.post(address("book", round_))
    assert answer.status_code == 409
    assert "No bin of this round is counted yet" in text(answer)


def test_a_round_given_up_books_nothing(owner, round_):
    counted(round_, 1, 1)
    page = owner.post(address("give-up", round_), follow=True)
    assert "nothing was booked" in text(page)
    assert Bin.objects.get(code="A-1").count == 5


def test_the_bin_page_of_a_closed_round_takes_no_count(owner, round_):
    sent = typed(owner, round_, 1, 5)
    assert sent.status_code == 302
    owner.post(address("give-up", round_))
    assert "This round is closed" in text(owner.get(address("bin", round_, 2)))
    answer = owner.post(address("bin", round_, 2), {"found": 3, "line": 0}, follow=True)
    assert "was given up" in text(answer)


def test_a_wrong_start_is_told(owner):
    a_bin("A-1", 1)
    for sent, why in [
        ({"most": 0}, "greater than or equal to 1"),
        ({"most": 5, "place": "Z"}, "There is no bin to count"),
        ({"most": 5, "pitch": "H9"}, "is no note"),
    ]:
        answer = owner.post(reverse("counting:rounds"), sent)
        assert answer.status_code == 422
        assert why in text(answer)
    assert not Round.objects.exists()


@pytest.mark.parametrize("page", ["rounds", "round", "bin", "sheet", "next"])
def test_pages_ask_a_constant_number_of_questions(owner, page, django_assert_max_num_queries):
    a_rack(2, 2)
    small = a_round(2)
    counted(small, 1, 1)
    with django_assert_max_num_queries(11) as few:
        owner.get(address(page, small))
    for n in range(3, 63):
        a_bin(f"A-{n}", 2, batch=f"b{n}")
    large = a_round(60)
    for place in range(1, 40, 2):
        counted(large, place, 1)
    for _ in range(4):
        a_bin(f"B-{_}", 2)
        a_round(1)
    with django_assert_max_num_queries(11) as many:
        owner.get(address(page, large, 1))
    assert len(few) == len(many)


def test_starting_a_round_asks_as_often_in_a_large_rack(owner, django_assert_max_num_queries):
    a_rack(1, 1, 1)
    owner.post(reverse("counting:rounds"), {"most": 1})
    with django_assert_max_num_queries(30) as few:
        owner.post(reverse("counting:rounds"), {"most": 2})
    for n in range(4, 80):
        a_bin(f"A-{n}", 2)
    with django_assert_max_num_queries(30) as many:
        owner.post(reverse("counting:rounds"), {"most": 60})
    assert Round.objects.first().asks.count() == 60
    assert len(few) == len(many)
