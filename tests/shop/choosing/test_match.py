"""Layouts are ranked for a repertoire by a job, and the answer is kept."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from combwright.shop.choosing import actions, matching
from combwright.shop.choosing.models import Answer
from combwright.shop.designs.models import Design
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.run import Run, Why
from combwright.shop.orders.models import Wish
from combwright.shop.repertoire.models import Repertoire
from shop.choosing.repertoires import (
    a_customer,
    a_match,
    a_repertoire,
    a_row,
    an_instrument,
    ask,
    somebody,
    work_off,
    work_out,
)
from shop.people.persons import text

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client):
    client.force_login(somebody("office"))
    return client


def match_page(repertoire):
    return reverse("choosing:match", args=[repertoire.pk])


def page_of(answer):
    return reverse("choosing:one", args=[answer.pk])


def test_layouts_are_ranked_and_the_answer_is_kept_with_its_page(office):
    tunes = a_repertoire()
    asked = {"player": "intermediate", "layouts": ["standard", "third-blow-raised"]}
    answer = office.post(match_page(tunes), asked)
    assert answer.status_code == 302
    assert "waits for a worker" in text(office.get(answer.url))
    assert work_out().state == Job.DONE
    kept = Answer.objects.get()
    rows = kept.said["layouts"]
    assert [row["layout"] for row in rows] == ["third-blow-raised", "standard"]
    assert [row["natural"] for row in rows] == [2, 1]
    page = text(office.get(answer.url))
    assert "Best: Third blow raised." in page
    assert "1. Third blow raised 100.0 % 100.0 % 100.0 % 0.00 0" in page
    assert "2. Standard 50.0 %" in page
    assert "Ladder : 2 bends" in page
    assert "best: Third blow raised" in text(office.get(match_page(tunes)))
    where = reverse("choosing:picture", args=[kept.pk])
    assert where in office.get(answer.url).content.decode()
    wide, narrow = office.get(where), office.get(where, {"narrow": "yes"})
    assert wide.headers["Content-Type"] == "image/svg+xml"
    assert "Third blow raised" in wide.content.decode()
    assert wide.content != narrow.content
    assert b"style=" not in wide.content


def test_with_keys_each_layout_in_each_key_is_an_instrument_and_tunes_stay_in_theirs(office):
    tunes = a_repertoire()
    asked = {"player": "intermediate", "layouts": ["standard"], "keys": ["C", "D"]}
    begun = office.post(match_page(tunes), asked)
    assert work_out().result["words"] == "best: Standard in C"
    kept = Answer.objects.get()
    assert [(row["key"], row["natural"]) for row in kept.said["layouts"]] == [("C", 1), ("D", 0)]
    page = text(office.get(begun.url))
    assert "each in its own key, moved by octaves only" in page
    assert "1. Standard in C" in page
    assert "A4 bent at 3 draw, 2 times" in page
    office.post(reverse("choosing:wish", args=[kept.pk]), {"order": "new", "row": "1"})
    assert Wish.objects.get().key == "D"


def test_an_answer_without_a_picture_shows_none(office):
    answer = a_match(a_repertoire())
    where = reverse("choosing:picture", args=[answer.pk])
    assert where not in office.get(page_of(answer)).content.decode()
    assert office.get(where).status_code == 404


def test_a_long_ranking_has_pages_and_says_where_their_own_stand(office):
    rows = [a_row() for _ in range(60)]
    rows[55] = a_row("standard", "Standard", key="A", serial="00007")
    answer = a_match(a_repertoire(), rows)
    first = text(office.get(page_of(answer)))
    assert "00007 is number 56 of 60" in first
    assert "50. Standard" in first
    assert "51. Standard" not in first
    second = text(office.get(page_of(answer), {"page": "2"}))
    assert "56. Standard in A" in second


def test_their_own_instrument_is_ranked_as_it_is_built(office):
    who = a_customer()
    one = an_instrument(who, changes="3 blow=A4")
    tunes = a_repertoire(customer=who)
    page = text(office.get(match_page(tunes)))
    assert f"{one.serial}: {one.title}" in page
    office.post(
        match_page(tunes), {"player": "expert", "layouts": ["standard"], "own": [one.serial]}
    )
    work_out()
    kept = Answer.objects.get()
    first = kept.said["layouts"][0]
    assert (first["serial"], first["key"], first["changes"]) == (one.serial, "C", "3 blow=A4")
    assert first["natural"] == 2
    page = text(office.get(page_of(kept)))
    assert f"their own {one.serial}" in page
    assert "Easier than their own: how many tunes" in page
    assert kept.said["layouts"][1]["easier"] == 0


def test_the_own_instruments_of_somebody_else_cannot_be_asked_for(office):
    tunes = a_repertoire(customer=a_customer())
    answer = office.post(match_page(tunes), {"player": "expert", "own": ["00001"]})
    assert answer.status_code == 302
    assert Answer.objects.get().asked["own"] == []


def test_an_empty_repertoire_is_refused_and_what_was_ticked_is_kept(office):
    tunes = a_repertoire(tunes=())
    answer = office.post(match_page(tunes), {"player": "expert", "layouts": ["standard"]})
    assert answer.status_code == 422
    assert "There are no tunes in this repertoire; load some first." in text(answer)
    assert 'value="standard"' in answer.content.decode()
    assert answer.content.decode().count("checked") == 1
    assert not Answer.objects.exists()
    assert not Job.objects.exists()


@pytest.mark.data
def test_the_same_question_asked_twice_is_worked_out_once():
    tunes = a_repertoire()
    first, second = ask(tunes), ask(tunes, person=somebody("office"))
    assert first == second
    assert Job.objects.count() == Answer.objects.count() == 1
    assert ask(tunes, player="expert") != first
    Repertoire.objects.filter(pk=tunes.pk).update(version=2)
    assert ask(tunes) != first


def test_a_job_that_is_stopped_leaves_no_answer_and_can_be_asked_again(office, monkeypatch):
    tunes = a_repertoire()
    answer = ask(tunes, person=somebody("office"))
    seen = []

    def pressed(run, done, total, words=""):
        seen.append((done, total, words))
        if total:
            office.post(reverse("choosing:stop", args=[answer.pk]))
            run.must_stop(Why.ASKED)
        run.check()

    monkeypatch.setattr(Run, "progress", pressed)
    assert work_off().state == Job.STOPPED
    assert seen == [(0, 0, "reading the tunes"), (1, 2, "1 of 2 instruments ranked")]
    answer.refresh_from_db()
    assert answer.said is None
    assert "stopped before there was an answer" in text(office.get(page_of(answer)))
    assert "stopped" in text(office.get(match_page(tunes)))
    again = office.post(reverse("choosing:again", args=[answer.pk]))
    assert Answer.objects.count() == 2
    assert "waits for a worker" in text(office.get(again.url))


def test_somebody_elses_job_is_not_stopped_by_a_maker(client):
    answer = ask(a_repertoire())
    client.force_login(somebody("maker"))
    assert client.post(reverse("choosing:stop", args=[answer.pk])).status_code == 403
    page = client.get(page_of(answer))
    assert reverse("choosing:stop", args=[answer.pk]) not in page.content.decode()


def test_a_layout_that_is_gone_fails_with_one_line_in_the_list(office):
    tunes = a_repertoire()
    own = Design.objects.create(
        kind=Design.LAYOUT, code="odd", title="Odd", title_key="odd", toml='title = "Odd"\n',
        changed_by=somebody(),
    )  # fmt: skip
    answer = ask(tunes, layouts=["odd"])
    own.delete()
    assert work_off().state == Job.FAILED
    line = "There is no 'odd' in this shop"
    assert line in text(office.get(match_page(tunes)))
    assert line in text(office.get(page_of(answer)))


def test_an_answer_thrown_away_while_it_is_worked_out_is_not_missed(office, monkeypatch):
    tunes = a_repertoire()
    answer = ask(tunes)
    real = matching.ranked

    def meanwhile(repertoire, asked, told):
        worked = real(repertoire, asked, told)
        office.post(reverse("choosing:throw-away", args=[answer.pk]))
        return worked

    monkeypatch.setattr("combwright.shop.choosing.tasks.ranked", meanwhile)
    job = work_off()
    assert not Answer.objects.exists()
    assert job.state in (Job.DONE, Job.STOPPED)


@pytest.mark.data
def test_what_is_worked_out_twice_is_kept_once():
    answer = ask(a_repertoire())
    first = actions.Worked(1, {"tunes": 1, "layouts": []}, "first")
    actions.keep(answer.pk, first)
    kept = actions.keep(answer.pk, actions.Worked(1, {"tunes": 2, "layouts": []}, "second"))
    assert kept.best == "first"
    assert actions.keep(answer.pk + 1, first) is None


def test_an_answer_says_when_the_tunes_have_changed_since(office):
    tunes = a_repertoire()
    answer = a_match(tunes)
    assert "has changed since" not in text(office.get(page_of(answer)))
    Repertoire.objects.filter(pk=tunes.pk).update(version=2)
    assert "has changed since" in text(office.get(page_of(answer)))
    assert "tunes have changed" in text(office.get(match_page(tunes)))


def test_who_may_not_design_wishes_looks_but_does_not_ask(client):
    tunes = a_repertoire()
    answer = a_match(tunes)
    client.force_login(somebody("packer"))
    page = client.get(match_page(tunes))
    assert "Rank again" not in text(page)
    assert client.post(match_page(tunes), {"player": "expert"}).status_code == 403
    assert "Make a wish" not in text(client.get(page_of(answer)))
    for act in ("again", "throw-away", "wish", "stop"):
        assert client.post(reverse(f"choosing:{act}", args=[answer.pk])).status_code == 403
    assert Answer.objects.count() == 1


def queries(client, address):
    with CaptureQueriesContext(connection) as done:
        assert client.get(address).status_code == 200
    return len(done)


def test_the_pages_take_the_same_queries_whatever_they_hold(office):
    tunes = a_repertoire(customer=a_customer())
    answer = a_match(tunes)
    ask(tunes)
    listed, shown = queries(office, match_page(tunes)), queries(office, page_of(answer))
    for n in range(5):
        ask(tunes, layouts=[], player="expert", own=[str(n)])
        more = a_match(tunes, [a_row() for _ in range(20)])
    assert queries(office, match_page(tunes)) == listed
    assert queries(office, page_of(more)) == shown


def test_a_page_that_asks_again_is_renewed_when_the_answer_is_there(office):
    tunes = a_repertoire()
    waiting, there = ask(tunes), a_match(tunes)
    state = reverse("choosing:state", args=[waiting.pk])
    assert "HX-Refresh" not in office.get(state).headers
    assert office.get(reverse("choosing:state", args=[there.pk])).headers["HX-Refresh"] == "true"
    office.post(reverse("choosing:throw-away", args=[waiting.pk]))
    assert office.get(state).headers["HX-Refresh"] == "true"
    assert office.get(page_of(waiting)).status_code == 404
