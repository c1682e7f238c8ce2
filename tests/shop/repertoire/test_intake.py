"""Tunes from files: what was read and what was not, ticked, and taken in as a whole or not."""

import json
from datetime import timedelta
from unittest import mock

import pytest
from django.urls import reverse
from django.utils import timezone

from combwright.shop.jobs import actions as jobs
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.run import Run, Why
from combwright.shop.jobs.worker import Worker
from combwright.shop.repertoire import intake_actions, queries, reading
from combwright.shop.repertoire.actions import NotSo
from combwright.shop.repertoire.models import FoundTune, Intake, Melody, TunesFile
from combwright.tunes.opening import read_tune_bytes
from shop.jobs.hands import somebody
from shop.orders.shelf import text
from shop.repertoire.tunebook import (
    DOWN,
    HOLLOW,
    UP,
    a_repertoire,
    again,
    kept,
    many,
    page_of,
    send,
    the_intake,
    ticks,
    titles,
    zipped,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


# Reading


def test_many_files_of_any_kind_are_read_at_once(maker):
    book = a_repertoire()
    answer = send(
        maker, book, ("up.abc", UP), ("folder.zip", zipped(a=DOWN, b=HOLLOW)), ("odd.mid", b"MThd")
    )
    intake = the_intake()
    assert (answer.status_code, answer["Location"]) == (302, page_of(intake))
    assert list(intake.found.values_list("title", flat=True)) == ["Upstairs", "Downstairs"]
    assert len(intake.faults) == 2
    assert "b.abc" in intake.faults[0]
    assert "'Hollow'" in intake.faults[0]
    assert intake.faults[1].startswith("odd.mid: ")
    assert titles(book) == []


def test_pasted_abc_is_read_like_a_file(maker):
    send(maker, a_repertoire(), abc=UP)
    found = the_intake().found.get()
    assert (found.title, found.source, found.notes) == ("Upstairs", "pasted.abc, row 1", 8)
    assert (found.lowest, found.highest) == (60, 72)


def test_the_preview_shows_each_tune_with_its_range_and_beginning(maker):
    intake = kept(a_repertoire(), UP + "\n" + HOLLOW)
    shown = text(maker.get(page_of(intake)))
    for told in ("Upstairs", "C4–C5", "C4 D4 E4 F4 | G4 A4 B4 C5", "book.abc, row 1"):
        assert told in shown
    assert "book.abc, row 8, &#x27;Hollow&#x27;: it has no notes." in shown


def test_what_holds_no_tune_is_not_kept_and_what_was_pasted_is_still_there(maker):
    book = a_repertoire()
    answer = send(maker, book, ("notes.txt", b"\0\1\2"), abc="la la la")
    assert answer.status_code == 422
    shown = text(answer)
    assert "notes.txt: this is no ABC, MusicXML or MIDI, nor a zipped folder." in shown
    assert "pasted.abc: no tune begins here" in shown
    assert ">la la la</textarea>" in answer.content.decode().replace("\n", "").replace("\r", "")
    assert not Intake.objects.exists()


def test_nothing_at_all_is_asked_for(maker):
    answer = send(maker, a_repertoire())
    assert answer.status_code == 422
    assert "Choose a file, or paste ABC below." in text(answer)


def test_too_much_is_refused_with_its_size(maker, monkeypatch):
    monkeypatch.setattr("combwright.shop.repertoire.forms.MOST_MIB", 0)
    answer = send(maker, a_repertoire(), ("up.abc", UP), abc=DOWN)
    assert answer.status_code == 422
    assert "the most is 0 MiB" in text(answer)
    assert "T:Downstairs" in answer.content.decode()


def test_old_files_that_nobody_took_in_are_thrown_away_when_new_ones_come():
    book = a_repertoire()
    old, younger = kept(book), kept(book)
    past = timezone.now() - timedelta(days=intake_actions.KEPT_DAYS, minutes=1)
    Intake.objects.filter(pk=old.pk).update(made_at=past)
    new = kept(book)
    assert set(Intake.objects.values_list("pk", flat=True)) == {younger.pk, new.pk}


# Ticks


def test_all_are_ticked_but_those_that_are_there_or_come_twice(maker):
    book = a_repertoire(abc=UP)
    renamed = UP.replace("Upstairs", "Another name")
    intake = kept(book, renamed + "\n" + DOWN + "\n" + DOWN)
    assert list(intake.found.values_list("title", "wanted", "again")) == [
        ("Another name", False, FoundTune.KEPT), ("Downstairs", True, ""),
        ("Downstairs", False, FoundTune.TWICE),
    ]  # fmt: skip
    shown = text(maker.get(page_of(intake)))
    assert shown.count("in the repertoire already") == 1
    assert shown.count("the same notes as one above") == 1


@pytest.mark.data
def test_only_what_is_ticked_is_taken_in(maker):
    book = a_repertoire(abc=many(1))
    intake = kept(book)
    answer = maker.post(page_of(intake), ticks(intake, "Downstairs"))
    assert answer["Location"] == reverse("repertoire:one", args=[book.pk])
    assert titles(book) == ["Number 1", "Downstairs"]
    assert [each.title for each in queries.tunes_of(book)] == ["Number 1", "Downstairs"]
    assert again(book).version == book.version + 1
    assert not Intake.objects.exists()
    assert not FoundTune.objects.exists()


def test_ticks_are_kept_from_page_to_page(maker):
    book = a_repertoire()
    intake = kept(book, many(60))
    answer = maker.post(page_of(intake), ticks(intake, "Number 3", "Number 4", do="2"))
    assert answer["Location"] == f"{page_of(intake)}?page=2"
    maker.post(page_of(intake), ticks(intake, "Number 55", page=2))
    assert titles(book) == ["Number 3", "Number 4", "Number 55"]


def test_all_or_none_can_be_ticked_at_once(maker):
    book = a_repertoire(abc=UP)
    intake = kept(book, UP + "\n" + many(60))
    maker.post(page_of(intake), ticks(intake, do="none"))
    assert queries.wanted(intake) == 0
    maker.post(page_of(intake), ticks(intake, do="all"))
    assert queries.wanted(intake) == 60


def test_nothing_ticked_is_refused_and_the_tunes_stay(maker):
    book = a_repertoire()
    intake = kept(book)
    answer = maker.post(page_of(intake), ticks(intake))
    assert answer.status_code == 422
    assert "No tune is ticked" in text(answer)
    assert intake.found.count() == 2
    assert titles(book) == []


def test_what_is_taken_in_is_all_or_nothing(maker):
    book = a_repertoire()
    intake = kept(book)
    with (
        mock.patch.object(Intake, "delete", side_effect=OSError("disk full")),
        pytest.raises(OSError, match="disk full"),
    ):
        maker.post(page_of(intake), ticks(intake, "Upstairs", "Downstairs"))
    assert titles(book) == []
    assert again(book).version == book.version


@pytest.mark.parametrize("sent", [{"do": "x"}, {"do": "9" * 30}, {"do": "-1"}, {"do": "take"}])
def test_odd_ticks_do_no_harm(maker, sent):
    intake = kept(a_repertoire())
    odd = {"seen": ["x", "9" * 30, "1.5"], "tune": ["²", ""], "page": "y", **sent}
    assert maker.post(page_of(intake), odd).status_code in (302, 422)
    assert maker.get(page_of(intake), {"page": "z"}).status_code in (200, 302)


# Two people


def test_tunes_that_come_meanwhile_are_marked_and_nothing_is_taken_in(maker):
    book = a_repertoire()
    mine, theirs = kept(book), kept(book, UP, somebody("office"))
    intake_actions.take_in(somebody("office"), theirs.pk)
    answer = maker.post(page_of(mine), ticks(mine, "Upstairs", "Downstairs"))
    assert answer.status_code == 422
    assert "1 of these tunes came into the repertoire meanwhile." in text(answer)
    assert titles(book) == ["Upstairs"]
    assert list(mine.found.values_list("again", "wanted")) == [("kept", False), ("", True)]
    maker.post(page_of(mine), ticks(mine, "Downstairs"))
    assert titles(book) == ["Upstairs", "Downstairs"]


def test_who_is_quicker_in_the_same_moment_wins():
    book = a_repertoire()
    mine, theirs = kept(book), kept(book, UP)
    quick = intake_actions._meanwhile

    def slow(key):
        met = quick(key)
        intake_actions._take_in(somebody("office"), theirs.pk)
        return met

    with (
        mock.patch.object(intake_actions, "_meanwhile", slow),
        pytest.raises(NotSo, match="Somebody else took tunes in just now"),
    ):
        intake_actions.take_in(somebody(), mine.pk)
    assert titles(book) == ["Upstairs"]


def test_what_was_taken_in_or_thrown_away_is_told_to_who_comes_later(maker):
    book = a_repertoire()
    intake = kept(book)
    sent = ticks(intake, "Upstairs")
    maker.post(page_of(intake), sent)
    for answer in (
        maker.post(page_of(intake), sent, follow=True),
        maker.get(page_of(intake), follow=True),
        maker.post(reverse("repertoire:intake-throw-away", args=[intake.pk]), follow=True),
        maker.post(reverse("repertoire:intake-again", args=[intake.pk]), follow=True),
        maker.post(reverse("repertoire:intake-stop", args=[intake.pk]), follow=True),
    ):
        assert "These tunes were taken in before, or thrown away; send them again." in text(answer)
    assert titles(book) == ["Upstairs"]


def test_files_can_be_thrown_away(maker):
    book = a_repertoire()
    intake = kept(book)
    answer = maker.post(reverse("repertoire:intake-throw-away", args=[intake.pk]), follow=True)
    assert "no tune was taken in" in text(answer)
    assert not FoundTune.objects.exists()
    assert titles(book) == []


# Large files


@pytest.fixture
def by_worker(monkeypatch):
    monkeypatch.setattr(intake_actions, "AT_ONCE", 10)


def test_large_files_are_read_by_a_worker_and_the_page_says_how_far_it_is(maker, by_worker):
    book = a_repertoire()
    send(maker, book, ("up.abc", UP), ("down.abc", DOWN))
    intake = the_intake()
    assert intake.read_at is None
    assert not FoundTune.objects.exists()
    waiting = text(maker.get(page_of(intake)))
    assert "The files wait for a worker that is free." in waiting
    state = reverse("repertoire:intake-state", args=[intake.pk])
    assert "hx-get" in text(maker.get(state))
    assert Worker().work_off() == 1
    assert maker.get(state)["HX-Refresh"] == "true"
    assert "Downstairs" in text(maker.get(page_of(intake)))
    job = Job.objects.get()
    assert (job.state, job.result["words"], job.address) == (
        Job.DONE, "2 tunes were read.", page_of(intake),
    )  # fmt: skip
    assert not TunesFile.objects.exists()


def test_reading_can_be_stopped_and_begun_again(maker, by_worker):
    send(maker, a_repertoire(), ("up.abc", UP))
    intake = the_intake()
    answer = maker.post(reverse("repertoire:intake-stop", args=[intake.pk]))
    assert answer["Location"] == page_of(intake)
    assert "Reading the files was stopped." in text(maker.get(page_of(intake)))
    maker.post(reverse("repertoire:intake-again", args=[intake.pk]))
    assert Worker().work_off() == 1
    assert the_intake().found.count() == 1


def test_files_thrown_away_while_they_wait_do_no_harm(maker, by_worker):
    send(maker, a_repertoire(), ("up.abc", UP))
    maker.post(reverse("repertoire:intake-throw-away", args=[the_intake().pk]))
    assert Worker().work_off() == 1
    assert Job.objects.get().state == Job.DONE


def test_what_is_sent_before_it_is_read_is_turned_back(maker, by_worker):
    send(maker, a_repertoire(), ("up.abc", UP))
    answer = maker.post(page_of(the_intake()), {"do": "take"})
    assert answer.status_code == 422
    assert not Melody.objects.exists()


def test_a_zipped_folder_weighs_what_is_in_it():
    packed = zipped(a=UP * 200)
    assert reading.weight([("a.zip", packed), ("b.abc", b"1234")]) == len(UP) * 200 + 4
    assert reading.weight([("a.zip", b"PK\x03\x04no folder")]) == 13


def test_progress_tells_bytes_files_and_tunes():
    told = []
    files = [("up.abc", UP.encode()), ("two.abc", (DOWN + "\n" + HOLLOW).encode())]
    found = reading.read_files(files, lambda *each: told.append(each))
    assert [tune.title for tune in found.tunes] == ["Upstairs", "Downstairs"]
    whole = sum(len(data) for _name, data in files)
    second = (len(UP), whole, "two.abc")
    assert told == [(0, whole, "up.abc", 1), (*second, 2), (*second, 3)]
    assert read_tune_bytes(*reversed(files[0])).tunes
    assert len(told) == 3


def test_reading_one_large_file_stops_within_it(maker, by_worker, monkeypatch):
    send(maker, a_repertoire(), ("many.abc", many(30)))
    begun = []

    def stopping(run, done, total, words):
        begun.append(words)
        if len(begun) == 5:
            jobs.ask_to_stop(run.job, somebody())
            run.must_stop(Why.ASKED)
        run.check()

    monkeypatch.setattr(Run, "progress", stopping)
    Worker().work_off()
    assert Job.objects.get().state == Job.STOPPED
    assert begun[-1] == "reading many.abc: tune 5"
    assert not FoundTune.objects.exists()


# How much is asked of the database


def test_the_preview_asks_the_same_however_many_tunes_there_are(
    maker, django_assert_max_num_queries, django_assert_num_queries
):
    few, lots = kept(a_repertoire(), many(2)), kept(a_repertoire("Others"), many(120))
    with django_assert_max_num_queries(12) as asked:
        maker.get(page_of(few))
    with django_assert_num_queries(len(asked)):
        maker.get(page_of(lots))


def test_taking_in_many_asks_for_each_hundred_not_for_each_tune(django_assert_max_num_queries):
    book = a_repertoire()
    intake = kept(book, many(600))
    with django_assert_max_num_queries(30):
        intake_actions.take_in(somebody(), intake.pk)
    assert book.melodies.count() == 600


def test_what_is_kept_is_what_was_read():
    book = a_repertoire()
    abc = "X:1\nT:Three\nM:6/8\nL:1/8\nK:Dmix\n|:(3def {g}A>B ~c2:|\n"
    intake_actions.take_in(somebody(), kept(book, abc).pk)
    assert queries.tunes_of(book) == read_tune_bytes(abc.encode(), "book.abc").tunes
    assert json.dumps(Melody.objects.get().music)
