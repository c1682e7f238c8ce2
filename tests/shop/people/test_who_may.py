"""The full table: every page of people, for every role and for nobody."""

import pytest
from django.test import Client
from django.urls import reverse

from combwright.shop.people import urls
from combwright.shop.people.models import Person
from combwright.shop.people.roles import TABLE, May, Role, allowed
from shop.people.persons import somebody, text

pytestmark = pytest.mark.django_db
EVERYONE, OWNER = set(Role), {"owner"}
OPEN = {"login", "first", "link", "trust", "authority"}
#: Page, method, what is sent, who may.
PAGES = [
    ("me", "get", {}, EVERYONE),
    ("me", "post", {"old": "x"}, EVERYONE),
    ("leave", "post", {}, EVERYONE),
    ("logout", "post", {}, EVERYONE),
    ("roles", "get", {}, EVERYONE),
    ("list", "get", {}, OWNER),
    ("join", "get", {}, OWNER),
    ("join", "post", {"name": "new", "full_name": "New", "role": "owner"}, OWNER),
    ("one", "get", {}, OWNER),
    ("one", "post", {"role": "owner"}, OWNER),
    ("bar", "post", {}, OWNER),
    ("unbar", "post", {}, OWNER),
    ("invite", "post", {}, OWNER),
]
PER_PERSON = {"one", "bar", "unbar", "invite"}


def address(page, person):
    return reverse(f"people:{page}", args=[person.pk] if page in PER_PERSON else [])


def everything():
    return list(Person.objects.order_by("pk").values("name", "role", "is_active", "devices_left"))


def test_no_page_is_missing_from_the_table():
    assert {page for page, *_ in PAGES} | OPEN == {each.name for each in urls.urlpatterns}


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize(("page", "method", "sent", "who"), PAGES)
def test_each_role_sees_its_pages_and_no_others(client, role, page, method, sent, who):
    acting, other = somebody(role, "acting"), somebody("packer", "other")
    client.force_login(acting)
    before = everything()
    answer = getattr(client, method)(address(page, other), sent)
    if role in who:
        assert answer.status_code in (200, 302, 422)
        assert "/login/" not in answer.headers.get("Location", "") or page in ("logout", "leave")
    else:
        assert answer.status_code == 403
        assert f"{role.title()}, may not let people in" in text(answer)
        assert everything() == before


@pytest.mark.parametrize(("page", "method", "sent", "who"), PAGES)
def test_nobody_gets_in_without_logging_in(client, page, method, sent, who):
    other = somebody("owner", "other")
    before = everything()
    answer = getattr(client, method)(address(page, other), sent)
    assert (answer.status_code, answer.headers["Location"].split("?")[0]) == (
        302,
        "/people/login/",
    )
    assert everything() == before


@pytest.mark.parametrize("page", ["bar", "unbar", "invite", "logout", "leave"])
def test_what_changes_something_is_never_done_by_a_link(client, page):
    owner = somebody()
    client.force_login(owner)
    assert client.get(address(page, owner)).status_code == 405


@pytest.mark.parametrize(("page", "method", "sent", "who"), [p for p in PAGES if p[1] == "post"])
def test_a_form_from_elsewhere_is_refused(page, method, sent, who):
    owner, other = somebody(), somebody("packer")
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    before = everything()
    answer = client.post(address(page, other), sent)
    assert answer.status_code == 403
    assert "This page is too old" in text(answer)
    assert everything() == before


@pytest.mark.parametrize("page", sorted(OPEN))
def test_an_open_pages_form_from_elsewhere_is_refused_too(page):
    if page != "first":
        somebody()
    answer = Client(enforce_csrf_checks=True).post(reverse(f"people:{page}"), {})
    assert answer.status_code == 403


def test_the_page_of_roles_says_what_the_table_says(client):
    client.force_login(somebody("packer"))
    rows = client.get("/people/roles/").content.decode().split("<tr>")[2:]
    assert len(rows) == len(May) == len(TABLE)
    columns = [Role(value) for value, _name in Person.ROLES]
    for what, row in zip(May, rows, strict=True):
        assert what.words in row
        cells = ["yes" in cell.split("</td>")[0] for cell in row.split("<td")[1:]]
        assert cells == [allowed(role, what) for role in columns]


def test_the_list_asks_the_database_as_often_for_fifty_people_as_for_one(
    client, django_assert_max_num_queries
):
    client.force_login(somebody())
    for n in range(50):
        somebody("packer", f"p{n}")
    with django_assert_max_num_queries(3):
        answer = client.get("/people/")
    assert "P49" in text(answer)


def test_somebody_who_is_not_here_is_not_found(client):
    client.force_login(somebody())
    assert client.get("/people/999/").status_code == 404
    assert client.post("/people/999/bar/").status_code == 404
