"""Whoever asks too fast is asked to wait: each person for themselves, nobody by their address."""

import logging

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from combwright.shop.people.pace import BURST_SECONDS, Buckets
from shop.people.persons import browser_of, somebody, text

PACE = 0.3
BURST = int(PACE * BURST_SECONDS)


class Seconds:
    def __init__(self):
        self.now = 100.0

    def __call__(self):
        return self.now


def test_a_bucket_gives_its_burst_at_once_and_then_its_pace():
    clock = Seconds()
    buckets = Buckets(2, clock)
    assert [buckets.take("ida").seconds for _ in range(21)] == [0] * 20 + [1]
    clock.now += 0.5
    assert buckets.take("ida").seconds == 0
    assert buckets.take("ida").seconds == 1
    clock.now += 3600
    assert [buckets.take("ida").seconds for _ in range(21)] == [0] * 20 + [1]


def test_an_empty_bucket_says_so_for_the_first_time_once():
    clock = Seconds()
    buckets = Buckets(0.1, clock)
    told = [buckets.take("ida") for _ in range(4)]
    assert [each.first for each in told] == [False, True, False, False]
    assert told[1].seconds == 10
    clock.now += 10
    assert [buckets.take("ida").first for _ in range(2)] == [False, True]


@given(pace=st.floats(0.01, 1000), waits=st.lists(st.floats(0, 5), max_size=60))
def test_nobody_ever_gets_more_than_the_burst_and_the_pace(pace, waits):
    clock = Seconds()
    buckets, granted = Buckets(pace, clock), 0
    for wait in waits:
        clock.now += wait
        granted += not buckets.take("ida").seconds
    assert granted <= max(1, pace * BURST_SECONDS) + pace * (clock.now - 100) + 1e-6


def test_one_who_waits_as_told_is_let_in():
    clock = Seconds()
    buckets = Buckets(0.7, clock)
    for _ in range(50):
        clock.now += buckets.take("ida").seconds
        assert buckets.take("ida").seconds <= 2


def test_buckets_are_not_kept_for_ever():
    clock = Seconds()
    buckets = Buckets(1, clock)
    for n in range(20_000):
        buckets.take(f"address {n}")
    assert len(buckets._buckets) == 10_000


@pytest.fixture
def paced(settings):
    settings.MOST_A_SECOND = PACE


def until_refused(client, address="/people/me/"):
    answers = [client.get(address) for _ in range(BURST + 6)]
    return next(each for each in answers if each.status_code == 429)


@pytest.mark.django_db
def test_a_person_who_asks_too_fast_is_told_when_to_come_again(paced, caplog):
    caplog.set_level(logging.WARNING)
    client = browser_of(somebody())
    page = until_refused(client)
    assert 1 <= int(page["Retry-After"]) <= 4
    assert f"wait {page['Retry-After']} second" in text(page)
    assert "Nothing was changed." in text(page)
    assert page["Content-Security-Policy"]
    lines = [each.getMessage() for each in caplog.records if "slowed" in each.getMessage()]
    assert lines == ['event=slowed person="owner"']


@pytest.mark.django_db
def test_one_person_does_not_slow_another_down_nor_the_door(paced):
    somebody("packer")
    client = browser_of(somebody())
    until_refused(client)
    client.logout()
    assert client.get("/people/login/").status_code == 200
    client.force_login(somebody("maker"))
    assert client.get("/people/me/").status_code == 200


@pytest.mark.django_db
def test_nobody_is_slowed_by_their_address(paced):
    somebody()
    client = Client()
    until_refused(client, "/people/login/")
    assert client.get("/people/login/", REMOTE_ADDR="192.0.2.7").status_code == 200


@pytest.mark.django_db
def test_programs_get_a_problem_document(paced):
    somebody()
    answer = until_refused(Client(), "/api/nothing/")
    assert answer["Content-Type"] == "application/problem+json"
    assert answer["Retry-After"]
    problem = answer.json()
    assert (problem["status"], problem["title"]) == (429, "Too many at once")
    assert problem["detail"].endswith("then try again.")


@pytest.mark.django_db
@pytest.mark.parametrize("address", ["/static/look/nothing.css", "/health/"])
def test_files_and_the_watch_are_not_counted(paced, address):
    somebody()
    client = Client()
    assert 429 not in {client.get(address).status_code for _ in range(BURST + 6)}


@pytest.mark.django_db
def test_no_limit_is_no_limit(settings):
    settings.MOST_A_SECOND = 0
    somebody()
    client = Client()
    assert {client.get("/people/login/").status_code for _ in range(30)} == {200}
