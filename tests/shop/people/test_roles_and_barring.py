"""Roles, barring, one's own password, and the rule that there is always an owner."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import IntegrityError, connections, transaction
from django.test import Client

from combwright.shop.people import actions
from combwright.shop.people.models import Person
from combwright.shop.people.queries import owners
from combwright.shop.people.refusals import Refused
from combwright.shop.people.roles import Role
from shop.people.persons import PASSWORD, browser_of, is_in, log_in, somebody, text

pytestmark = pytest.mark.django_db
NEW = {"password": "seven steel screws", "again": "seven steel screws"}


def role_of(person):
    return Person.objects.get(pk=person.pk).role


@pytest.mark.parametrize("role", ["office", "maker", "packer"])
def test_the_last_owner_stays_owner(role):
    owner = somebody()
    client = browser_of(owner)
    answer = client.post(f"/people/{owner.pk}/", {"role": role})
    assert answer.status_code == 422
    assert "Owner is the last owner who can log in" in text(answer)
    assert role_of(owner) == "owner"


def test_the_last_owner_is_not_barred():
    owner = somebody()
    client = browser_of(owner)
    answer = client.post(f"/people/{owner.pk}/bar/")
    assert answer.status_code == 422
    assert "Owner is the last owner who can log in" in text(answer)
    assert is_in(client)


def test_an_owner_who_is_barred_or_has_no_password_yet_does_not_count():
    owner = somebody()
    somebody("owner", "invited", None)
    actions.bar(owner, somebody("owner", "gone"))
    with pytest.raises(Refused, match="last owner"):
        actions.change_role(owner, owner, Role.MAKER)
    with pytest.raises(Refused, match="last owner"):
        actions.bar(owner, owner)


def test_the_last_owner_may_be_given_the_same_role_again():
    owner = somebody()
    actions.change_role(owner, owner, Role.OWNER)
    assert role_of(owner) == "owner"


def test_one_of_two_owners_may_step_back_and_sees_the_owners_pages_no_more():
    owner, _second = somebody(), somebody("owner", "second")
    client = browser_of(owner)
    answer = client.post(f"/people/{owner.pk}/", {"role": "maker"})
    assert answer.headers["Location"] == "/people/me/"
    assert client.get("/people/").status_code == 403


def test_a_new_role_holds_from_the_next_page_on():
    owner, packer = somebody(), somebody("packer")
    hers = browser_of(packer)
    assert hers.get("/people/").status_code == 403
    answer = browser_of(owner).post(f"/people/{packer.pk}/", {"role": "owner"})
    assert answer.headers["Location"] == f"/people/{packer.pk}/"
    assert hers.get("/people/").status_code == 200


def test_a_role_that_is_none_is_refused_by_the_page_and_by_the_database():
    owner, packer = somebody(), somebody("packer")
    answer = browser_of(owner).post(f"/people/{packer.pk}/", {"role": "king"})
    assert answer.status_code == 422
    with pytest.raises(IntegrityError), transaction.atomic():
        actions.change_role(owner, packer, "king")
    assert role_of(packer) == "packer"


def test_barring_ends_what_is_open_and_letting_in_again_does_not_bring_it_back():
    owner, packer = browser_of(somebody()), somebody("packer")
    hers = browser_of(packer)
    assert owner.post(f"/people/{packer.pk}/bar/").status_code == 302
    assert not is_in(hers)
    assert log_in(Client(), "packer", PASSWORD).status_code == 422
    assert owner.post(f"/people/{packer.pk}/unbar/").status_code == 302
    assert not is_in(hers)
    assert log_in(Client(), "packer", PASSWORD).status_code == 302


def test_leaving_all_devices_ends_every_session_of_ones_own_and_nobody_elses():
    person, other = somebody("maker"), browser_of(somebody("packer"))
    here, phone, tablet = (browser_of(person) for _ in range(3))
    answer = here.post("/people/me/leave/", follow=True)
    assert "You have left all devices" in text(answer)
    assert [is_in(device) for device in (here, phone, tablet, other)] == [False] * 3 + [True]
    assert is_in(browser_of(person))


def test_a_changed_password_ends_other_sessions_and_keeps_this_one():
    person = somebody("maker")
    here, phone = browser_of(person), browser_of(person)
    assert here.post("/people/me/", {"old": PASSWORD, **NEW}).headers["Location"] == "/people/me/"
    assert (is_in(here), is_in(phone)) == (True, False)
    assert log_in(Client(), "maker", PASSWORD).status_code == 422
    assert log_in(Client(), "maker", NEW["password"]).status_code == 302


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"old": "a wrong one"}, "This is not your password until now."),
        ({"again": "seven steel screw"}, "The two passwords differ"),
        ({"password": "maker", "again": "maker"}, "at least 10 characters"),
    ],
)
def test_a_refused_change_of_password_says_why_and_changes_nothing(wrong, said):
    person = somebody("maker")
    answer = browser_of(person).post("/people/me/", {"old": PASSWORD, **NEW, **wrong})
    assert answer.status_code == 422
    assert said in text(answer)
    assert b"seven steel" not in answer.content
    assert Person.objects.get().check_password(PASSWORD)


@pytest.mark.django_db(transaction=True)
@pytest.mark.data
@pytest.mark.parametrize("act", ["bar", "step back"])
def test_two_owners_who_remove_each_other_at_once_leave_one(act):
    for turn in range(8):
        pair = [somebody("owner", f"{name}{turn}") for name in ("ida", "tom")]
        Person.objects.exclude(pk__in=[each.pk for each in pair]).delete()
        together = Barrier(2)

        def remove(n, pair=pair, together=together):
            together.wait()
            try:
                if act == "bar":
                    actions.bar(pair[n], pair[1 - n])
                else:
                    actions.change_role(pair[n], pair[n], Role.PACKER)
            except Refused:
                return "refused"
            finally:
                connections.close_all()
            return "done"

        with ThreadPoolExecutor(2) as pool:
            assert sorted(pool.map(remove, range(2))) == ["done", "refused"]
        assert owners().count() == 1
