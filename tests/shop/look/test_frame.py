import re

import pytest

from shop.look.shown import BARE, client

PAGES = ["/rack/", "/look/parts/", "/found/", "/nowhere/", "/forbidden/", "/broken/"]


def page(address, role="owner"):
    return client(role).get(address).content.decode()


def current(text):
    return re.findall(r'<a href="([^"]+)" aria-current="(\w+)"', text)


def links(text):
    """The addresses of the navigation between rooms."""
    nav = re.search(r'<nav class="ways".*?</nav>', text, re.DOTALL)
    return re.findall(r'href="([^"]+)"', nav[0]) if nav else []


def test_everybody_is_shown_the_rooms_of_the_day_and_the_house_last():
    rooms = ["/rack/", "/look/house/"]
    assert links(page("/rack/")) == rooms
    assert links(page("/rack/", role="packer")) == rooms


def test_the_house_shows_each_role_the_rooms_it_may_open_and_no_other():
    def behind(role):
        listed = re.search(r'<ul class="doors">.*?</ul>', page("/look/house/", role), re.DOTALL)
        return re.findall(r'href="([^"]+)"', listed[0])

    assert behind("owner") == ["/rack/ledger/", "/rack/batches/", "/people/", "/look/parts/"]
    assert behind("packer") == ["/rack/ledger/", "/rack/batches/", "/look/parts/"]


def test_whoever_has_not_logged_in_sees_no_navigation_and_no_way_out():
    text = page("/rack/", role="")
    assert links(text) == []
    assert "Log out" not in text
    assert "/look/parts/" not in text


@pytest.mark.parametrize(
    ("address", "marked"),
    [
        ("/rack/bins/", ("/rack/", "true")),
        ("/rack/", ("/rack/", "page")),
        ("/rack/bin/A-12/", ("/rack/", "true")),
        ("/people/me/", ("/people/me/", "page")),
    ],
)
def test_the_room_one_stands_in_is_marked_and_no_other(address, marked):
    assert current(page(address)) == [marked]


def test_a_page_outside_all_rooms_marks_none():
    assert "aria-current" not in page("/")


def test_rooms_that_are_not_built_leave_no_broken_link(settings):
    settings.ROOT_URLCONF = BARE
    response = client().get("/look/parts/")
    assert response.status_code == 200
    text = response.content.decode()
    assert links(text) == ["/look/house/"]
    assert "Log out" not in text


def test_logging_out_is_a_form_that_carries_its_token():
    form = re.search(r'<form method="post" action="/people/leave/">.*?</form>', page("/"))
    assert "csrfmiddlewaretoken" in form[0]


@pytest.mark.parametrize("address", PAGES)
@pytest.mark.parametrize("role", ["owner", ""])
def test_no_page_holds_a_script_a_style_or_anything_from_elsewhere(address, role):
    text = page(address, role)
    assert not re.search(r"<style|\sstyle=|\son\w+=|javascript:", text)
    assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", text))
    assert not re.search(r'(?:src|href|action)="(?:https?:)?//', text)


def test_a_page_that_is_not_there_says_what_to_do():
    response = client().get("/nowhere/")
    assert response.status_code == 404
    assert b"There is nothing at this address" in response.content


def test_a_forbidden_page_says_whose_right_it_is():
    response = client("packer").get("/forbidden/")
    assert response.status_code == 403
    assert b"Your role, Packer, may not correct the ledger; ask the owner." in response.content


def test_a_fault_of_the_program_is_told_without_its_insides():
    response = client().get("/broken/")
    assert response.status_code == 500
    assert b"Something broke in the shop" in response.content
    assert b"as if a bug" not in response.content


def test_a_wrong_host_is_answered_in_our_words():
    response = client().get("/", headers={"host": "elsewhere.example"})
    assert response.status_code == 400
    assert b"Not understood" in response.content


def test_a_form_without_its_token_is_answered_in_our_words():
    shop = client()
    shop.handler.enforce_csrf_checks = True
    response = shop.post("/people/leave/")
    assert response.status_code == 403
    assert b"This page is too old" in response.content
