"""A copy of the shop to learn on: its own process, its own data, marked on every page."""

import http.cookiejar
import os
import re
import sqlite3
import subprocess
import sys
import time
import urllib.parse
import urllib.request
from pathlib import Path

import pytest
from django.urls import reverse

from combwright.shop.backups.snapshots import beside
from combwright.shop.people.actions import make_link
from combwright.shop.people.roles import Role
from combwright.shop.practice import child, places, urls
from combwright.shop.practice.copying import make_copy
from combwright.shop.rack.models import Bin, Line
from combwright.shop.where import sqlite
from shop.backups.shops import a_shop, plates
from shop.people.persons import text
from shop.rack.shelves import somebody

BAND = "Nothing here is real"
PAGES = [("home", "get", set(Role)), ("state", "get", set(Role)), ("start", "post", set(Role)),
         ("anew", "post", {Role.OWNER, Role.OFFICE})]  # fmt: skip


@pytest.fixture(autouse=True)
def data(tmp_path, settings):
    settings.DATA_FOLDER = tmp_path
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    return tmp_path


@pytest.fixture
def started(monkeypatch):
    """What the page would start, without starting it."""
    asked = []
    monkeypatch.setattr(child, "start", lambda *, fresh=False: asked.append(fresh))
    return asked


@pytest.mark.data
@pytest.mark.django_db(transaction=True)
def test_a_copy_holds_racks_and_people_and_nothing_that_acts(data):
    owner = a_shop()
    make_link(owner, 1)
    make_copy()
    with sqlite3.connect(data / "practice" / "shop.sqlite3") as copy:
        rows = {
            table: copy.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
            for (table,) in copy.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        }
        held = dict(copy.execute("SELECT code, count FROM rack_bin ORDER BY code").fetchall())
    copy.close()
    assert held == plates()
    assert rows["rack_line"] == Line.objects.count()
    assert rows["people_person"] == 1
    quiet = ("django_session", "people_link", "jobs_job", "backups_backupplan")
    assert {table: rows[table] for table in quiet} == dict.fromkeys(quiet, 0)
    assert {rows[table] for table in rows if table.startswith("api_")} <= {0}
    assert places.made_at() is not None


@pytest.mark.django_db(transaction=True)
def test_made_anew_it_is_what_the_shop_is_now_and_leaves_nothing_beside_it(data):
    a_shop()
    make_copy()
    (data / "practice" / "secret").write_text("old")
    (data / "practice.new-stray").mkdir()
    Bin.objects.filter(code="A-0").update(walk="moved")
    make_copy()
    assert sorted(each.name for each in data.iterdir()) == ["practice"]
    assert not (data / "practice" / "secret").exists()
    with beside(sqlite(data / "practice" / "shop.sqlite3")) as alias:
        assert Bin.objects.using(alias).get(code="A-0").walk == "moved"


def test_no_page_is_missing_from_the_table():
    assert {page for page, *_ in PAGES} == {each.name for each in urls.urlpatterns}


@pytest.mark.django_db
@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize(("page", "method", "who"), PAGES)
def test_everybody_may_open_it_and_some_make_it_anew(client, started, role, page, method, who):
    client.force_login(somebody(role))
    answer = getattr(client, method)(reverse(f"practice:{page}"))
    assert answer.status_code == ({"get": 200, "post": 302}[method] if role in who else 403)
    assert started == ([page == "anew"] if method == "post" and role in who else [])
    if method == "post":
        assert client.get(reverse(f"practice:{page}")).status_code == 405


@pytest.mark.django_db
def test_its_page_says_how_it_stands(client, data, settings, monkeypatch):
    client.force_login(somebody())
    assert "There is no copy yet" in text(client.get("/practice/"))
    now = places.State(places.MAKING)
    monkeypatch.setattr(child, "state", lambda: now)
    assert "It is being made ready" in text(client.get("/practice/"))
    assert "HX-Refresh" not in client.get("/practice/state/").headers
    now = places.State(places.OPEN, "127.0.0.1", 8799)
    assert client.get("/practice/state/").headers["HX-Refresh"] == "true"
    page = client.get("/practice/", headers={"host": "localhost:8765"}).content.decode()
    assert 'href="http://localhost:8799/"' in page
    settings.AUTHORITY = data / "https"
    page = client.get("/practice/", headers={"host": "localhost:8765"}).content.decode()
    assert 'href="https://localhost:8799/"' in page
    now = places.State(places.FAILED, why="no space is left")
    assert "no space is left" in text(client.get("/practice/"))


@pytest.mark.django_db
def test_behind_https_it_needs_an_address_of_its_own(client, settings, started, monkeypatch):
    settings.HTTPS = True
    client.force_login(somebody())
    assert "COMBWRIGHT_PRACTICE_ADDRESS" in text(client.get("/practice/"))
    assert client.post("/practice/start/").status_code == 404
    monkeypatch.setenv("COMBWRIGHT_PRACTICE_ADDRESS", "https://practice.example/")
    assert client.post("/practice/start/").status_code == 302


@pytest.mark.django_db
def test_every_page_of_it_is_marked_and_no_page_of_the_real_shop(client, settings):
    client.force_login(somebody())
    client.raise_request_exception = False
    for page in ("/rack/", "/rack/bins/", "/people/", "/practice/", "/nowhere/"):
        assert BAND not in text(client.get(page))
    settings.PRACTICE = True
    for page in ("/rack/", "/rack/bins/", "/people/", "/practice/", "/nowhere/"):
        answer = client.get(page)
        assert BAND in text(answer)
        assert "<title>Practice · " in answer.content.decode()
    client.logout()
    assert BAND in text(client.get("/people/login/"))
    assert client.post("/practice/start/").status_code == 302  # to the door


def test_the_page_of_a_fault_is_marked_too(settings, rf):
    from django.views.defaults import server_error

    settings.PRACTICE = True
    assert BAND in server_error(rf.get("/")).content.decode()


@pytest.mark.django_db
def test_in_it_there_is_no_practice_shop_to_open(client, settings, started):
    settings.PRACTICE = True
    client.force_login(somebody())
    assert client.post("/practice/start/").status_code == 404
    assert client.post("/practice/anew/").status_code == 404
    assert started == []
    assert "Close this window to leave" in text(client.get("/practice/"))


REAL = """
import sys, time
import django
django.setup()
from django.conf import settings
from django.core.management import call_command
call_command("migrate", verbosity=0)
from combwright.shop.people.models import Person
from combwright.shop.practice import child
from shop.backups.shops import a_shop
a_shop()
child.start()
child.start()
while child.state().phase == "making":
    time.sleep(0.1)
print(child.state().phase, child.state().port, child.state().why, flush=True)
sys.stdin.read()
"""


class Visitor:
    def __init__(self, port):
        self.address = f"http://127.0.0.1:{port}"
        jar = http.cookiejar.CookieJar()
        self.open = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar)).open
        self.cookies = jar

    def get(self, path):
        return self.open(self.address + path).read().decode()

    def post(self, path, **form):
        page = self.get(path)
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)[1]
        data = urllib.parse.urlencode({**form, "csrfmiddlewaretoken": token}).encode()
        return self.open(self.address + path, data).read().decode()


@pytest.mark.parametrize("end", ["goes home", "is killed"])
def test_it_is_served_beside_the_real_shop_writes_nothing_there_and_ends_with_it(data, end):
    environment = {
        **os.environ,
        "COMBWRIGHT_DATA": str(data),
        "DJANGO_SETTINGS_MODULE": "combwright.shop.settings",
        "COMBWRIGHT_PRACTICE_PORT": "18766",
        "PYTHONPATH": str(Path(__file__).parents[2]),
    }
    environment.pop("COMBWRIGHT_DATABASE", None)
    with subprocess.Popen(
        [sys.executable, "-c", REAL], env=environment, stdin=subprocess.PIPE,
        stdout=subprocess.PIPE, text=True,
    ) as real:  # fmt: skip
        try:
            phase, port = real.stdout.readline().split()[:2]
            assert phase == "open"
            before = real_rows(data)
            visitor = Visitor(port)
            page = visitor.post("/people/login/", name="owner", password="a long enough password")
            assert BAND in page
            assert {each.name for each in visitor.cookies} == {"practice-session", "practice-csrf"}
            number = re.search(r'href="(/rack/bins?/[^"?]+)"', visitor.get("/rack/bins/"))
            assert number
            visitor.post("/people/join/", name="pupil", full_name="Pupil", role="packer")
            assert real_rows(data) == before
            assert real_rows(data / "practice")["people_person"] == before["people_person"] + 1
            assert (data / "practice" / "secret").read_text() != (data / "secret").read_text()
        finally:
            real.kill() if end == "is killed" else real.stdin.close()
            real.wait(30)
    for _ in range(150):
        if places.state().phase == places.CLOSED:
            break
        time.sleep(0.1)
    assert places.state().phase == places.CLOSED


def real_rows(folder):
    with sqlite3.connect(folder / "shop.sqlite3") as shop:
        tables = ("people_person", "rack_line", "django_session", "rack_entry")
        found = {t: shop.execute(f"SELECT count(*) FROM {t}").fetchone()[0] for t in tables}
    shop.close()
    return found


def test_two_cannot_have_it_open_at_once(data):
    handle = places.held()
    assert handle is not None
    assert places.held() is None
    os.close(handle)
    again = places.held()
    assert again is not None
    os.close(again)
