"""The log says what happened at the door, and never a secret."""

import json
import logging
import re

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from combwright.shop.people import actions, journal
from combwright.shop.people.models import Link
from combwright.shop.people.views import link_address
from shop.people.persons import PASSWORD, browser_of, log_in, somebody

WRONG, CHOSEN = "eight brass rivets", "seven steel screws"
LINE = re.compile(r'event=\w+( \w+=("([^"\\]|\\.)*"|\d+))*')


@pytest.fixture
def lines(caplog):
    """Give what the whole program logs, from its least to its most."""
    caplog.set_level(logging.DEBUG)
    return lambda: [record.getMessage() for record in caplog.records]


@pytest.mark.django_db
def test_a_days_coming_and_going_is_logged_without_a_secret(lines):
    client, owner = Client(), somebody()
    log_in(client, "owner", WRONG)
    log_in(client, WRONG, "x")  # a password in the wrong field
    hers = browser_of(owner)
    given = {"name": "tom", "full_name": "Tom", "role": "packer"}
    hers.post("/people/join/", given)
    tom = Link.objects.get().person
    token = actions.invite_again(owner, tom)
    choice = {"password": CHOSEN, "again": CHOSEN}
    client.post(link_address(token), {**choice, "again": WRONG})
    Client(enforce_csrf_checks=True).post(link_address(token), choice)
    client.post(link_address(token), choice)
    client.post(link_address(token), choice)
    hers.post(f"/people/{tom.pk}/", {"role": "maker"})
    hers.post(f"/people/{tom.pk}/bar/")
    hers.post(f"/people/{tom.pk}/unbar/")
    hers.post("/people/me/", {"old": PASSWORD, **choice})
    hers.post("/people/me/leave/")
    said = [line for line in lines() if line.startswith("event=")]
    assert [line.split()[0].removeprefix("event=") for line in said] == [
        "login_failed", "login_failed", "login", "joined", "link_made", "login_by_link",
        "role_changed", "barred", "unbarred", "password_changed", "devices_left",
    ]  # fmt: skip
    assert all(LINE.fullmatch(line) for line in said)
    assert 'event=login_failed person="owner" address="127.0.0.1"' in said
    assert 'event=login_failed person="(nobody)" address="127.0.0.1"' in said
    assert 'event=role_changed person="tom" was="packer" is="maker" by="owner"' in said
    whole = "\n".join(lines())
    assert "Forbidden" in whole  # the log does hold what Django says itself
    for secret in (PASSWORD, WRONG, CHOSEN, token, hers.cookies["sessionid"].value or "?"):
        assert secret not in whole


@pytest.mark.django_db
def test_failures_and_slowing_down_stand_out(caplog):
    somebody()
    for _ in range(6):
        log_in(Client(), "owner", WRONG)
    logged = [r for r in caplog.records if r.name == "combwright.people"]
    assert [r.levelname for r in logged] == ["WARNING"] * 6
    assert logged[-1].getMessage() == 'event=login_slowed address="127.0.0.1" seconds=10'


@given(st.text())
def test_nothing_typed_begins_a_line_or_a_fact_of_its_own(typed):
    written = []
    handler = logging.Handler()
    handler.emit = lambda record: written.append(record.getMessage())
    log = logging.getLogger("combwright.people")
    log.addHandler(handler)
    try:
        journal.write("test", {"typed": typed}, level=logging.ERROR)
    finally:
        log.removeHandler(handler)
    assert len(written[0].splitlines()) == 1
    assert LINE.fullmatch(written[0])
    assert json.loads(written[0].removeprefix("event=test typed=")) == typed
