"""Every address of the shop: what it needs, and that nobody without it gets in, by GET or POST."""

import pytest
from django.conf import settings as shop
from django.test import Client
from django.urls import URLResolver, get_resolver

from combwright.shop.people.models import Person
from combwright.shop.people.roles import May, Role, allowed

pytestmark = pytest.mark.django_db
#: Open to those who have not logged in: the door itself.
AT_THE_DOOR = {
    "people:login",
    "people:first",
    "people:link",
    "people:trust",
    "people:authority",
    "orders:shared",
}
#: With a door of their own, for programs; their table is in api/test_who_may.py.
FOR_PROGRAMS = {"api:openapi", "api:nothing-there"}
#: Open to everybody who has logged in.
FOR_EVERYBODY = {
    "home",
    "people:me",
    "people:leave",
    "people:logout",
    "people:roles",
    "look:house",
    "look:parts",
    "api:home",
    "api:problems",
}
ARGUMENTS = {"IntConverter": "1"}
REFUSED = (403, 405)


@pytest.fixture(autouse=True)
def as_fast_as_one_likes(settings):
    """Ask for every address at once: how fast one may ask is asked elsewhere."""
    settings.MOST_A_SECOND = 0


def addresses(resolver=None, names=(), parts=""):
    """Give every address of the shop: its name, a path that leads there, and its view."""
    for pattern in (resolver or get_resolver()).url_patterns:
        if isinstance(pattern, URLResolver):
            inner = (*names, pattern.namespace) if pattern.namespace else names
            yield from addresses(pattern, inner, parts + str(pattern.pattern))
        else:
            yield ":".join((*names, pattern.name or "")), path_of(parts, pattern), pattern.callback


def path_of(parts, pattern):
    route = parts + str(pattern.pattern)
    for name, converter in pattern.pattern.converters.items():
        kind = type(converter).__name__
        for written in (f"<{name}>", *(f"<{c}:{name}>" for c in CONVERTERS)):
            route = route.replace(written, ARGUMENTS.get(kind, "x"))
    return "/" + route.removeprefix("^").replace("v1(?:/.*)?$", "v1/x")


CONVERTERS = ("int", "str", "path", "slug", "uuid")
PAGES = [each for each in addresses() if not each[0].startswith("api:v1:")]
NEEDED = [(name, path, view) for name, path, view in PAGES if hasattr(view, "needs")]


def test_every_address_has_a_name_and_a_path():
    for name, path, _view in addresses():
        assert not name.endswith(":"), path
        assert "<" not in path, path


def test_every_view_needs_a_right_or_is_known_to_be_open():
    open_ones = {name for name, _path, view in PAGES if not hasattr(view, "needs")}
    assert open_ones <= AT_THE_DOOR | FOR_PROGRAMS | FOR_EVERYBODY
    assert {view.needs for _name, _path, view in NEEDED} <= set(May)


def test_views_with_a_door_of_their_own_are_those_for_programs():
    own = {name for name, _path, view in addresses() if getattr(view, "own_door", False)}
    assert own == FOR_PROGRAMS | {name for name, *_ in addresses() if name.startswith("api:v1:")}


def test_no_form_of_people_goes_without_its_csrf_token():
    exempt = {name for name, _path, view in PAGES if getattr(view, "csrf_exempt", False)}
    assert exempt <= {"api:nothing-there"}


@pytest.mark.parametrize("role", list(Role))
def test_who_lacks_the_right_is_refused_by_get_and_by_post(role):
    client = Client()
    client.force_login(Person.objects.join(role, role.title(), role, None))
    wrong = []
    for name, path, view in NEEDED:
        if allowed(role, view.needs):
            continue
        got, posted = client.get(path), client.post(path)
        statuses = (got.status_code, posted.status_code)
        if 403 not in statuses or not set(statuses) <= set(REFUSED):
            wrong.append((name, view.needs.name, statuses))
    assert wrong == []


@pytest.mark.parametrize("role", list(Role))
def test_who_has_the_right_is_never_told_otherwise(role):
    client = Client(raise_request_exception=False)
    client.force_login(Person.objects.join(role, role.title(), role, None))
    wrong = []
    for name, path, view in NEEDED:
        if allowed(role, view.needs):
            status = client.get(path).status_code
            # What is asked for does not exist here; but the right was not what was missing.
            if status in (401, 403) or status >= 500:
                wrong.append((name, view.needs.name, status))
    assert wrong == []


def test_who_has_not_logged_in_is_sent_to_the_door():
    Person.objects.join("owner", "Owner", Role.OWNER, None)
    wrong = []
    for name, path, _view in PAGES:
        if name in AT_THE_DOOR | FOR_PROGRAMS:
            continue
        for answer in (Client().get(path), Client().post(path)):
            door = answer.headers.get("Location", "").partition("?")[0]
            if (answer.status_code, door) != (302, "/people/login/"):
                wrong.append((name, answer.status_code, door))
    assert wrong == []
    assert shop.LOGIN_URL == "people:login"
