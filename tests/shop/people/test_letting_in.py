"""The way in for an owner who lost the password: a command at the shop's own machine."""

import pytest
from django.test import Client

from cli.commands import combwright
from combwright.shop.people.models import Person
from shop.people.persons import is_in, log_in, somebody

pytestmark = pytest.mark.django_db


def test_an_owner_who_lost_the_password_chooses_a_new_one_by_the_link():
    somebody("owner", "ida")
    printed = combwright("let-in", "Ida", "--at", "http://shop.localhost/").out.strip()
    assert printed.startswith("http://shop.localhost/people/link/?")
    path = printed.removeprefix("http://shop.localhost")
    browser = Client()
    chosen = {"password": "three new rivets", "again": "three new rivets"}
    assert browser.post(path, chosen).status_code == 302
    assert is_in(browser)
    later = Client()
    log_in(later, "ida", "three new rivets")
    assert is_in(later)


def test_nobody_of_that_name_is_told_who_there_is():
    somebody("owner", "ida")
    answer = combwright("let-in", "iida")
    assert answer.error == "Nobody logs in as 'iida'; there are: ida."


def test_one_who_is_barred_gets_no_link():
    person = somebody("packer", "tom")
    Person.objects.filter(pk=person.pk).update(is_active=False)
    answer = combwright("let-in", "tom")
    assert answer.error == "'tom' is barred; an owner must let them in again first."
