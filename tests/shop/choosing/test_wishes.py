"""A row of an answer becomes a wish with one press, and once, however often it is pressed."""

import pytest
from django.urls import reverse

from combwright.shop.backups.tables import blanked, is_kept, kept_models, our_models, table_of
from combwright.shop.choosing import wish_actions
from combwright.shop.choosing.models import Answer, MadeWish
from combwright.shop.orders import actions as orders
from combwright.shop.orders.models import Order, Wish
from combwright.shop.repertoire.models import Repertoire
from shop.choosing.repertoires import (
    a_customer,
    a_match,
    a_repertoire,
    a_row,
    somebody,
)
from shop.people.persons import text

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client):
    client.force_login(somebody("office"))
    return client


def press(client, answer, row, **more):
    where = reverse("choosing:wish", args=[answer.pk])
    return client.post(where, {"order": "new", "key": "D", "row": str(row), **more})


def page_of(answer):
    return reverse("choosing:one", args=[answer.pk])


def test_a_row_becomes_a_wish_of_a_new_draft_for_whoever_plays(office):
    who = a_customer()
    answer = a_match(a_repertoire(customer=who))
    done = press(office, answer, 0)
    wish = Wish.objects.get()
    assert done.url == reverse("orders:wish", args=[wish.pk])
    assert (wish.layout, wish.key, wish.changes) == ("third-blow-raised", "D", "")
    assert (wish.order.state, wish.order.customer) == ("draft", who)
    page = text(office.get(done.url))
    assert f"A wish is made of it, in draft order {wish.order.number}." in page
    assert "Design the instrument" in page
    assert f"{wish.order.number} row 1, in D" in text(office.get(page_of(answer)))


def test_an_own_instruments_row_keeps_its_key_and_its_changes(office):
    press(office, a_match(a_repertoire()), 2)
    wish = Wish.objects.get()
    assert (wish.layout, wish.key, wish.changes) == ("standard", "A", "3 blow=F#4")
    assert wish.order.customer is None


@pytest.mark.data
def test_pressed_twice_the_wish_that_is_there_is_shown(office, client):
    answer = a_match(a_repertoire())
    first, second = press(office, answer, 0), press(office, answer, 0)
    assert first.url == second.url
    assert "A wish was made of it before" in text(office.get(second.url))
    client.force_login(somebody("owner"))
    assert press(client, answer, 0).url == first.url
    assert Order.objects.count() == Wish.objects.count() == MadeWish.objects.count() == 1
    press(office, answer, 0, key="A")
    press(office, answer, 1)
    assert Wish.objects.count() == 3
    Wish.objects.all().delete()
    press(office, answer, 0)
    assert Wish.objects.count() == 1


def test_a_wish_goes_into_a_draft_that_is_chosen(office):
    who = a_customer()
    draft = orders.make_order(somebody(), {"customer": who}, [{"layout": "standard"}])
    others = orders.make_order(somebody(), {}, [{"layout": "standard"}])
    answer = a_match(a_repertoire(customer=who))
    page = office.get(page_of(answer)).content.decode()
    assert f'value="={draft.number}"' in page
    assert f'value="={others.number}"' not in page
    press(office, answer, 0, order=f"={draft.number}")
    assert [wish.row for wish in draft.wishes.all()] == [1, 2]
    assert Order.objects.count() == 2
    draft.refresh_from_db()
    assert draft.version == 2


def test_a_draft_that_was_opened_meanwhile_is_refused_and_what_was_chosen_is_kept(office):
    draft = orders.make_order(somebody(), {}, [{"layout": "standard"}])
    answer = a_match(a_repertoire())
    orders.open_order(draft, somebody())
    refused = press(office, answer, 0, order=f"={draft.number}", key="Bb")
    assert refused.status_code == 422
    assert "That order is no draft any more; choose another one." in text(refused)
    assert 'value="Bb"' in refused.content.decode()
    assert draft.wishes.count() == 1


def test_a_maker_puts_wishes_into_drafts_but_makes_no_order(client):
    client.force_login(somebody("maker"))
    answer = a_match(a_repertoire())
    page = client.get(page_of(answer))
    assert "There is no draft order to put a wish into" in text(page)
    assert "Make a wish of Standard" not in page.content.decode()
    assert press(client, answer, 0).status_code == 422
    assert not Order.objects.exists()
    draft = orders.make_order(somebody(), {}, [{"layout": "standard"}])
    assert press(client, answer, 0, order=f"={draft.number}").status_code == 302
    assert draft.wishes.count() == 2


@pytest.mark.parametrize(
    ("row", "more", "line"),
    [
        ("7", {}, "This answer has no row 8; look at it again."),
        ("x", {}, "Press the button of the row that is meant."),
        ("0", {"key": "H"}, "'H' is no key: write one of G, Ab"),
        ("3", {}, "There is no 'gone' in this shop"),
    ],
)
def test_what_cannot_be_made_is_said_and_nothing_is_made(office, row, more, line):
    rows = (a_row(), a_row(), a_row(), a_row("gone", "Gone"))
    refused = press(office, a_match(a_repertoire(), rows), row, **more)
    assert refused.status_code == 422
    assert line in text(refused)
    assert not Order.objects.exists()


def test_wishes_stay_when_the_answer_or_the_repertoire_goes(office):
    answer = a_match(a_repertoire())
    press(office, answer, 0)
    office.post(reverse("choosing:throw-away", args=[answer.pk]))
    assert Wish.objects.count() == 1
    other = a_match(a_repertoire("Waltzes"))
    press(office, other, 0)
    Repertoire.objects.all().delete()
    assert Wish.objects.count() == 2
    assert not MadeWish.objects.exists()


def test_backups_carry_answers_and_the_wishes_that_were_made_of_them():
    room = [each for each in our_models() if each._meta.app_label == "choosing"]
    assert {each.__name__ for each in room if is_kept(each)} == {"Answer", "MadeWish"}
    kept = kept_models()
    # A job is not brought back: an answer that was being worked out can be asked for again.
    assert blanked(Answer, table_of(Answer, kept)) == {"job_id"}


def test_two_who_press_at_once_make_one_wish(monkeypatch):
    answer = a_match(a_repertoire())
    real, others = wish_actions.facts_of, []

    def meanwhile(*asked):
        if not others:
            others.append(None)
            others[0] = wish_actions.make_wish(somebody("office"), answer, 0, "D", None)
        return real(*asked)

    monkeypatch.setattr(wish_actions, "facts_of", meanwhile)
    wish, new = wish_actions.make_wish(somebody(), answer, 0, "D", None)
    assert (wish, new) == (others[0][0], False)
    assert others[0][1]
    assert Order.objects.count() == 1
