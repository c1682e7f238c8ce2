"""The owner's pages about backups."""

import datetime as dt
import zipfile
from io import BytesIO

import pytest
from asgiref.sync import async_to_sync
from django.test import AsyncClient, Client
from django.urls import reverse

from combwright.shop.backups import actions, urls
from combwright.shop.backups.models import BackupPlan
from combwright.shop.backups.queries import plan
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.worker import Worker
from combwright.shop.people.roles import Role
from shop.backups.shops import a_shop
from shop.people.persons import text
from shop.rack.shelves import somebody

pytestmark = pytest.mark.django_db(transaction=True)
PLAN = {"on": "on", "at": "19:15", "keep_daily": 3, "keep_weekly": 2, "keep_monthly": 1}
PAGES = [
    ("list", "get", {}), ("now", "post", {}), ("plan", "get", {}), ("plan", "post", PLAN),
    ("file", "get", {}), ("check", "post", {}),
]  # fmt: skip
PER_FILE = {"file", "check"}


@pytest.fixture
def owner(folder, client):
    person = a_shop()
    client.force_login(person)
    return person


def address(page, name="none.zip"):
    return reverse(f"backups:{page}", args=[name] if page in PER_FILE else [])


def test_no_page_is_missing_from_the_table():
    assert {page for page, *_ in PAGES} == {each.name for each in urls.urlpatterns}


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize(("page", "method", "sent"), PAGES)
def test_only_the_owner_gets_in(client, folder, role, page, method, sent):
    a_shop()
    name = actions.back_up().name
    client.force_login(somebody(role, "acting"))
    answer = getattr(client, method)(address(page, name), sent)
    answer.close()
    if role == Role.OWNER:
        assert answer.status_code in (200, 302)
    else:
        assert answer.status_code == 403
        assert not Job.objects.exists()
        assert not BackupPlan.objects.exists()


@pytest.mark.parametrize(("page", "method", "sent"), [p for p in PAGES if p[1] == "post"])
def test_nothing_is_done_by_a_link_or_from_elsewhere(owner, client, page, method, sent):
    if page != "plan":
        assert client.get(address(page)).status_code == 405
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(owner)
    assert strict.post(address(page), sent).status_code == 403
    assert not Job.objects.exists()


def test_a_backup_is_asked_for_made_listed_and_taken_away(owner, client):
    assert "No backup yet." in text(client.get("/backups/"))
    answer = client.post("/backups/now/")
    assert answer.headers["Location"] == f"/jobs/{Job.objects.get().pk}/"
    Worker().work_off()
    shown = text(client.get("/backups/"))
    (name,) = [word for word in shown.split() if word.startswith("shop-")][:1]
    assert "sound" in shown
    assert "asked for" in shown
    answer = client.get(f"/backups/file/{name}/")
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{name}"'
    with zipfile.ZipFile(BytesIO(b"".join(answer.streaming_content))) as archive:
        assert "manifest.json" in archive.namelist()
    answer.close()


def test_under_the_shops_own_server_it_is_sent_in_pieces(owner, folder):
    path = actions.back_up()
    visitor = AsyncClient()
    visitor.force_login(owner)

    async def taken():
        answer = await visitor.get(f"/backups/file/{path.name}/")
        assert answer.is_async
        return answer, b"".join([piece async for piece in answer.streaming_content])

    answer, data = async_to_sync(taken)()
    assert data == path.read_bytes()
    assert answer.headers["Content-Length"] == str(len(data))


@pytest.mark.parametrize("name", ["none.zip", "..%2Fshop.sqlite3", "%2Fetc%2Fpasswd", "secret"])
def test_nothing_but_a_backup_of_the_folder_is_sent(owner, client, folder, name):
    actions.back_up()
    (folder.parent / "secret").write_text("s")
    assert client.get(f"/backups/file/{name}/").status_code == 404
    assert client.post(f"/backups/file/{name}/check/").status_code == 404


def test_the_schedule_is_kept_as_it_was_written(owner, client, folder):
    place = folder / "elsewhere"
    answer = client.post("/backups/plan/", {**PLAN, "folder": f" {place} "})
    assert answer.headers["Location"] == "/backups/"
    ours = plan()
    assert (ours.on, ours.at, ours.place) == (True, dt.time(19, 15), place)
    assert (ours.keep_daily, ours.keep_weekly, ours.keep_monthly) == (3, 2, 1)
    mark = ours.mark
    client.post("/backups/plan/", {**PLAN, "on": ""})
    assert (plan().on, plan().mark) == (False, mark)
    assert "No backups are made by themselves" in text(client.get("/backups/"))


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"folder": "some/where"}, "Write the whole path"),
        ({"folder": "/dev/null/x"}, "Nothing can be written to"),
        ({"keep_daily": 0}, "greater than or equal to 1"),
        ({"keep_weekly": -1}, "greater than or equal to 0"),
        ({"at": "25:00"}, "Enter a valid time"),
        ({"at": ""}, "This field is required"),
    ],
)
def test_a_schedule_that_cannot_be_is_shown_again_with_what_was_typed(owner, client, wrong, said):
    answer = client.post("/backups/plan/", {**PLAN, "folder": "", **wrong})
    assert answer.status_code == 422
    assert said in text(answer)
    (value,) = wrong.values()
    assert f'value="{value}"' in answer.content.decode() or value == ""
    assert not BackupPlan.objects.exists()


def test_a_practice_shop_has_no_backups(owner, client, settings):
    settings.PRACTICE = True
    for page, method, sent in PAGES:
        assert getattr(client, method)(address(page), sent).status_code == 404


def test_the_list_asks_the_database_as_often_for_many_as_for_one(
    owner, client, folder, django_assert_num_queries
):
    first = actions.back_up()
    for n in range(10):
        (folder / f"shop-2020-01-{n + 10}-101010.zip").write_bytes(first.read_bytes())
    with django_assert_num_queries(5):
        answer = client.get("/backups/")
    assert text(answer).count("not yet") == 10
