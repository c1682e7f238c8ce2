"""The pages of jobs: who sees what, what they say, and how often they ask the database."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from combwright.shop.jobs import actions, urls
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.progress import Progress
from combwright.shop.people.roles import May, Role
from shop.jobs.hands import now, run_out, somebody, start, take
from shop.people.persons import text

pytestmark = pytest.mark.django_db
WATCHERS = {Role.OWNER, Role.OFFICE}
PAGES = [("one", "get"), ("state", "get"), ("stop", "post")]
WHOSE = ["own", "another's", "the shop's"]


def page(name, job):
    return reverse(f"jobs:{name}", args=[job.pk])


def a_job(whose, acting):
    person = {"own": acting, "another's": somebody("packer", "other"), "the shop's": None}[whose]
    return start("note", person, what=1)


def test_no_page_is_missing_from_the_table():
    assert {name for name, _method in PAGES} | {"list"} == {each.name for each in urls.urlpatterns}


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize("whose", WHOSE)
@pytest.mark.parametrize(("name", "method"), PAGES)
def test_who_sees_and_stops_which_job(client, role, whose, name, method):
    acting = somebody(role, "acting")
    client.force_login(acting)
    job = a_job(whose, acting)
    before = Job.objects.values().get()
    answer = getattr(client, method)(page(name, job))
    if whose == "own" or role in WATCHERS:
        assert answer.status_code == (302 if method == "post" else 200)
    else:
        assert answer.status_code == 403
        assert f"{role.title()}, may not {May.WATCH.words}; ask the owner." in text(answer)
        assert Job.objects.values().get() == before


@pytest.mark.parametrize("role", list(Role))
def test_the_list_holds_ones_own_jobs_and_everybodys_for_those_who_watch(client, role):
    acting = somebody(role, "acting")
    client.force_login(acting)
    jobs = {whose: a_job(whose, acting) for whose in WHOSE}
    listed = {job.pk for job in client.get("/jobs/").context["page"]}
    own = {jobs["own"].pk}
    assert listed == ({job.pk for job in jobs.values()} if role in WATCHERS else own)
    mine = {job.pk for job in client.get("/jobs/?whose=mine").context["page"]}
    assert mine == own


@pytest.mark.parametrize("name", ["list", "one", "state", "stop"])
def test_nobody_sees_a_job_without_logging_in(client, name):
    job = start("note", somebody(), what=1)
    address = reverse("jobs:list") if name == "list" else page(name, job)
    answer = client.post(address) if name == "stop" else client.get(address)
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/people/login/")
    assert now(job).state == Job.WAITING


def test_a_job_is_never_stopped_by_a_link_nor_by_a_form_from_elsewhere():
    owner = somebody()
    job = start("note", owner, what=1)
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    assert client.get(page("stop", job)).status_code == 405
    assert client.post(page("stop", job)).status_code == 403
    assert now(job).state == Job.WAITING


def test_a_job_that_is_not_there_is_not_found(client):
    client.force_login(somebody())
    for name in ("one", "state"):
        assert client.get(reverse(f"jobs:{name}", args=[999])).status_code == 404
    assert client.post("/jobs/999/stop/").status_code == 404


@pytest.fixture
def owner(client):
    client.force_login(somebody())
    return client


@pytest.mark.parametrize("jobs", [1, 1000])
def test_the_list_asks_the_database_as_often_for_a_thousand_jobs_as_for_one(
    owner, jobs, django_assert_num_queries
):
    people = [somebody("packer", f"p{n}") for n in range(5)]
    Job.objects.bulk_create(
        Job(kind="note", made_by=people[n % 5], result={"n": n}) for n in range(jobs)
    )
    with django_assert_num_queries(4):  # session, person, how many, a page of them
        answer = owner.get("/jobs/")
    assert len(answer.context["page"]) == min(jobs, 50)


def test_looking_again_and_again_costs_little(owner, django_assert_max_num_queries):
    Job.objects.bulk_create(Job(kind="note") for _ in range(1000))
    start("note", somebody(), what=1)
    job = take()
    with django_assert_max_num_queries(4):
        owner.get(page("state", job))


def test_a_waiting_job_says_so_and_after_a_while_that_nobody_comes(owner):
    job = start("note", somebody(), what=1)
    assert "It waits for a worker that is free." in text(owner.get(page("one", job)))
    Job.objects.update(not_before=job.made_at - timedelta(minutes=1))
    assert "No worker takes it up." in text(owner.get(page("one", job)))
    start("note", somebody(), what=2)
    take()
    assert "It waits for a worker that is free." in text(owner.get(page("one", now_waiting())))


def now_waiting():
    return Job.objects.filter(state=Job.WAITING).get()


def test_a_running_job_shows_how_far_it_is_and_asks_again(owner):
    start("note", somebody(), what=1)
    job = take("the back room")
    answer = owner.get(page("one", job)).content.decode()
    assert f'hx-get="{page("state", job)}"' in answer
    assert '<progress id="job-progress"></progress>' in answer
    actions.beat(job, timedelta(seconds=30), Progress(620, 1000, "Reading row 620"))
    answer = owner.get(page("state", job))
    assert 'max="1000" value="620"' in answer.content.decode()
    assert "Reading row 620" in text(answer)
    assert "62 %" in text(answer)
    assert "HX-Refresh" not in answer.headers
    assert "Look again" in text(owner.get(page("one", job)))


def test_a_job_whose_worker_is_silent_says_since_when(owner):
    start("note", somebody(), what=1)
    job = take()
    run_out(job)
    assert "Its worker has not been heard of since" in text(owner.get(page("one", job)))


def test_a_job_that_is_over_renews_its_page_and_asks_no_more(owner):
    start("note", somebody(), what=1)
    job = take()
    actions.finish(job, {"words": "12 bins written", "address": "/rack/"}, Progress())
    assert owner.get(page("state", job)).headers["HX-Refresh"] == "true"
    answer = owner.get(page("one", job))
    assert "12 bins written" in text(answer)
    assert 'href="/rack/">See the result' in answer.content.decode()
    for left_out in ("hx-get", "Stop the job", "Look again"):
        assert left_out not in answer.content.decode()


@pytest.mark.parametrize("address", ["https://elsewhere", "//elsewhere", "/\\elsewhere", 7, None])
def test_a_result_leads_to_a_page_of_the_shop_and_nowhere_else(owner, address):
    start("note", somebody(), what=1)
    job = take()
    actions.finish(job, {"words": "x", "address": address}, Progress())
    assert "See the result" not in text(owner.get(page("one", job)))


@pytest.mark.parametrize("result", [None, 7, "done", [1], {}, {"words": None}])
def test_any_result_has_a_page(owner, result):
    start("note", somebody(), what=1)
    job = take()
    actions.finish(job, result, Progress())
    assert "It is done." in text(owner.get(page("one", job)))


def test_what_jobs_say_is_text_and_never_a_tag(owner):
    start("note", somebody(), what=1)
    job = take()
    actions.fail(job, "<script>alert(1)</script>")
    assert "<script>alert" not in owner.get(page("one", job)).content.decode()


def test_stopping_says_what_came_of_it(owner):
    waiting = start("note", somebody(), what=1)
    answer = owner.post(page("stop", waiting), follow=True)
    assert f"Job {waiting.pk} is stopped." in text(answer)
    assert "Owner had it stopped" in text(answer)
    start("note", somebody(), what=2)
    running = take()
    answer = owner.post(page("stop", running), follow=True)
    assert f"Job {running.pk} stops at its next step." in text(answer)
    assert "Stop the job" not in text(answer)
    actions.finish(running, None, Progress())
    answer = owner.post(page("stop", running), follow=True)
    assert f"Job {running.pk} was over before it could be stopped." in text(answer)


def test_a_kind_that_this_version_does_not_know_is_shown_by_its_name(owner):
    start("from a later version", somebody())
    assert "from a later version" in text(owner.get("/jobs/"))


def test_the_list_is_narrowed_by_state_and_says_when_nothing_is_left(owner):
    start("note", somebody(), what=1)
    assert len(owner.get("/jobs/?state=waiting").context["page"]) == 1
    assert "No job is like that." in text(owner.get("/jobs/?state=done"))
    assert len(owner.get("/jobs/?state=nonsense").context["page"]) == 1
