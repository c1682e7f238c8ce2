"""Tabs on paper: the staff's picture, one tune as PDF, a whole repertoire as a book."""

import io
from datetime import timedelta
from xml.etree import ElementTree

import pytest
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from combwright.shop.jobs.models import Job
from combwright.shop.jobs.worker import Worker
from combwright.shop.repertoire import actions, book_actions, queries, staves
from combwright.shop.repertoire.models import TabBook
from combwright.shop.repertoire.tab_forms import Asked
from shop.jobs.hands import somebody
from shop.orders.shelf import text
from shop.repertoire.tunebook import DOWN, UP, a_repertoire, again, many

pytestmark = pytest.mark.django_db
LONG = "X:1\nT:Long\nM:4/4\nL:1/4\nK:C\n" + "CDEF|GABc|\n" * 20


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


def at(name, *about):
    return reverse(f"repertoire:{name}", args=about)


def words_of(answer):
    assert answer["Content-Type"] == "application/pdf"
    pages = PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


def a_book(repertoire, **asked):
    return book_actions.order(somebody(), repertoire, Asked(**asked))


# One tune


def test_the_staff_is_one_picture_of_all_lines_one_under_the_other(maker):
    melody = a_repertoire(abc=LONG).melodies.get()
    answer = maker.get(at("staff", melody.pk))
    assert answer["Content-Type"] == "image/svg+xml"
    assert "private" in answer["Cache-Control"]
    root = ElementTree.fromstring(answer.content)
    lines = list(root)[1:]
    assert len(lines) > 2
    downs = [float(each.get("y")) for each in lines]
    highs = [float(each.get("height")) for each in lines]
    assert downs == pytest.approx([sum(highs[:n]) for n in range(len(highs))])
    assert float(root.get("viewBox").split()[3]) == pytest.approx(sum(highs))
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))


def test_on_a_telephone_lines_are_shorter_and_more(maker):
    melody = a_repertoire(abc=LONG).melodies.get()
    wide, narrow = (
        len(list(ElementTree.fromstring(maker.get(at("staff", melody.pk), asked).content)))
        for asked in ({}, {"narrow": "yes"})
    )
    assert narrow > wide
    shown = maker.get(at("tab", melody.pk), {"key": "D"}).content.decode()
    assert f'srcset="{at("staff", melody.pk)}?key=D&amp;narrow=yes"' in shown


def test_the_staff_carries_no_style_that_the_shops_policy_forbids(maker):
    melody = a_repertoire(abc=UP).melodies.get()
    svg = maker.get(at("staff", melody.pk)).content.decode()
    assert "<style" not in svg
    assert " style=" not in svg
    assert "<script" not in svg


def test_one_tune_as_pdf_says_which_instrument_is_meant(maker):
    melody = a_repertoire(abc=UP).melodies.get()
    answer = maker.get(at("tab-pdf", melody.pk), {"key": "D", "changes": "5 draw=G5"})
    told = words_of(answer)
    assert "Upstairs" in told
    assert "key of D, changed: 5 draw=G5" in told


def test_what_is_too_long_to_engrave_at_once_is_told_and_still_shown(maker, monkeypatch):
    monkeypatch.setattr(staves, "MOST_NOTES", 7)
    melody = a_repertoire(abc=UP).melodies.get()
    shown = text(maker.get(at("tab", melody.pk)))
    assert "too long to be engraved at once" in shown
    assert "As PDF" not in shown
    assert "<img class" not in shown
    for name in ("staff", "tab-pdf"):
        assert maker.get(at(name, melody.pk)).status_code == 404


# A book


def test_a_book_is_made_by_a_worker_and_kept(maker):
    book = a_repertoire(abc=UP + "\n" + DOWN)
    answer = maker.post(at("book-make", book.pk), {"layout": "standard", "key": "A"})
    made = TabBook.objects.get()
    assert answer["Location"] == at("book", made.pk)
    assert "The book waits for a worker that is free." in text(maker.get(at("book", made.pk)))
    assert "hx-get" in text(maker.get(at("book-state", made.pk)))
    assert maker.get(at("book-pdf", made.pk)).status_code == 404
    assert "being made" in text(maker.get(at("books", book.pk)))
    assert Worker().work_off() == 1
    assert maker.get(at("book-state", made.pk))["HX-Refresh"] == "true"
    assert "Take the book away" in text(maker.get(at("book", made.pk)))
    told = words_of(maker.get(at("book-pdf", made.pk)))
    assert "Upstairs" in told
    assert "Downstairs" in told
    assert "key of A" in told
    assert Job.objects.get().address == at("book", made.pk)


def test_the_same_book_is_not_made_twice(maker):
    book = a_repertoire(abc=UP)
    first = a_book(book)
    assert a_book(book).pk == first.pk
    assert Worker().work_off() == 1
    assert a_book(book).pk == first.pk
    assert Worker().work_off() == 0
    assert a_book(book, key="G").pk != first.pk


def test_when_the_tunes_change_the_book_is_of_before_and_a_new_one_is_made(maker):
    book = a_repertoire(abc=UP + "\n" + DOWN)
    old = a_book(book)
    Worker().work_off()
    actions.remove_tunes(book, somebody(), [book.melodies.first().pk])
    assert "The tunes have changed since" in text(maker.get(at("book", old.pk)))
    assert "tunes changed since" in text(maker.get(at("books", book.pk)))
    assert a_book(again(book)).pk != old.pk


def test_making_a_book_can_be_stopped_and_begun_again(maker):
    made = a_book(a_repertoire(abc=UP))
    assert maker.post(at("book-stop", made.pk))["Location"] == at("book", made.pk)
    assert "Making the book was stopped." in text(maker.get(at("book", made.pk)))
    assert "not made" in text(maker.get(at("books", made.repertoire_id)))
    maker.post(at("book-again", made.pk))
    assert Worker().work_off() == 1
    assert queries.is_made(made)


def test_a_book_of_nothing_or_of_too_much_is_refused(maker, monkeypatch):
    monkeypatch.setattr(book_actions, "MOST_TUNES", 2)
    for abc, told in (("", "has no tunes yet"), (many(3), "at most 2 tunes, and the repertoire")):
        book = a_repertoire(f"Of {len(abc)}", abc)
        answer = maker.post(at("book-make", book.pk), {"key": "Bb", "changes": "5 draw=F5"})
        assert answer.status_code == 422
        assert told in text(answer)
        assert 'value="5 draw=F5"' in text(answer)
    assert not TabBook.objects.exists()


def test_a_bad_question_makes_no_book(maker):
    book = a_repertoire(abc=UP)
    answer = maker.post(at("book-make", book.pk), {"key": "H"})
    assert answer.status_code == 422
    assert not TabBook.objects.exists()


def test_old_books_are_thrown_away_when_a_new_one_is_made():
    book = a_repertoire(abc=UP)
    old = a_book(book, key="C")
    TabBook.objects.filter(pk=old.pk).update(made_at=timezone.now() - timedelta(days=91))
    keys = ("G", "Ab", "A", "Bb", "B", "Db", "D", "Eb", "E", "F", "F#")
    for player in ("beginner", "expert"):
        for key in keys:
            a_book(book, key=key, player=player)
    assert not TabBook.objects.filter(pk=old.pk).exists()
    assert book.books.count() == 20


def test_a_book_thrown_away_while_it_waits_does_no_harm():
    book = a_repertoire(abc=UP)
    a_book(book)
    actions.throw_away(book, somebody())
    assert Worker().work_off() == 1
    assert Job.objects.get().state == Job.DONE


def test_a_packer_takes_a_book_away_but_has_none_made(client):
    made = a_book(a_repertoire(abc=UP))
    Worker().work_off()
    client.force_login(somebody("packer"))
    shown = text(client.get(at("books", made.repertoire_id)))
    assert "Make a book" not in shown
    assert client.get(at("book-pdf", made.pk)).status_code == 200
    assert client.post(at("book-make", made.repertoire_id)).status_code == 403


def test_the_list_of_books_asks_the_same_however_many_there_are(
    maker, django_assert_max_num_queries, django_assert_num_queries
):
    book = a_repertoire(abc=UP)
    a_book(book)
    with django_assert_max_num_queries(8) as asked:
        maker.get(at("books", book.pk))
    for key in ("G", "A", "D"):
        a_book(book, key=key)
    with django_assert_num_queries(len(asked)):
        maker.get(at("books", book.pk))
