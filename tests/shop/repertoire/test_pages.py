"""Repertoires found, begun, changed and thrown away; their tunes renamed, moved and removed."""

import json
from unittest import mock

import pytest
from django.urls import reverse

from combwright.shop.backups.tables import is_kept, our_models
from combwright.shop.orders import customer_actions
from combwright.shop.orders.models import Customer
from combwright.shop.repertoire import actions, queries
from combwright.shop.repertoire.models import Melody, Repertoire
from shop.jobs.hands import somebody
from shop.orders.shelf import a_customer, text
from shop.repertoire.tunebook import DOWN, UP, a_repertoire, again, kept, many, titles

pytestmark = pytest.mark.django_db


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


@pytest.fixture
def packer(client):
    client.force_login(somebody("packer"))
    return client


def at(name, *about):
    return reverse(f"repertoire:{name}", args=about)


# The list


def test_the_list_says_whose_each_is_and_how_many_tunes_it_has(maker):
    ida = a_customer()
    a_repertoire("Evenings", UP + "\n" + DOWN, customer=ida)
    a_repertoire("Mornings")
    shown = text(maker.get(at("list")))
    assert "2 repertoires." in shown
    assert "Ida Morrow" in shown
    assert '<td data-label="Tunes" class="number">2</td>' in shown


@pytest.mark.parametrize("word", ["even", "morrow"])
def test_a_repertoire_is_found_by_its_name_or_its_customers(maker, word):
    a_repertoire("Evenings", customer=a_customer())
    a_repertoire("Mornings")
    shown = text(maker.get(at("list"), {"text": word}))
    assert "Evenings" in shown
    assert "Mornings" not in shown
    assert "No repertoire is like that" in text(maker.get(at("list"), {"text": "zzz"}))


def test_an_empty_shop_says_what_to_do(maker):
    assert "No repertoires yet." in text(maker.get(at("list")))


def test_lists_ask_the_same_however_long_they_are(
    maker, django_assert_max_num_queries, django_assert_num_queries
):
    few = a_repertoire("Few", many(2))
    pages = [at("list"), at("one", few.pk)]
    asked = []
    for page in pages:
        with django_assert_max_num_queries(8) as counted:
            maker.get(page)
        asked.append(len(counted))
    for n in range(60):
        a_repertoire(f"Number {n}", customer=a_customer(f"Customer {n}"))
    actions.add_tunes(few, somebody(), queries.tunes_of(a_repertoire("Lots", many(70))))
    for page, count in zip(pages, asked, strict=True):
        with django_assert_num_queries(count):
            maker.get(page)


# One is begun, changed, thrown away


def test_one_is_begun_for_the_customer_whose_page_one_comes_from(maker):
    ida = a_customer()
    page = text(maker.get(at("new"), {"customer": ida.pk}))
    assert f"Ida Morrow #{ida.pk}" in page
    answer = maker.post(
        at("new"), {"name": " Evening   tunes ", "customer": "ida morrow", "about": "by the fire"}
    )
    made = Repertoire.objects.get()
    assert answer["Location"] == at("load", made.pk)
    assert (made.name, made.customer, made.about) == ("Evening tunes", ida, "by the fire")


def test_what_cannot_be_begun_is_told_and_what_was_typed_stays(maker):
    a_repertoire("Evenings")
    a_customer("Ida Morrow")
    a_customer("Ida Morrow")
    for name, who, told in (
        ("Evenings", "", "There is a repertoire &#x27;Evenings&#x27; already"),
        ("New", "Nobody Known", "There is no customer &#x27;Nobody Known&#x27; yet"),
        ("New", "Ida Morrow", "Several customers have that name: write Ida Morrow #"),
        ("", "", "This field is required."),
    ):
        answer = maker.post(at("new"), {"name": name, "customer": who, "about": "typed words"})
        assert answer.status_code == 422
        assert told in text(answer)
        assert "typed words" in text(answer)
    assert Repertoire.objects.count() == 1


def test_two_who_change_the_same_are_told(maker):
    book = a_repertoire()
    seen = actions.state_of(book)
    actions.change(book, somebody(), {"about": "theirs"}, seen=seen)
    sent = {"name": "Mine", "customer": "", "about": "mine", "seen": seen}
    answer = maker.post(at("change", book.pk), sent)
    assert answer.status_code == 422
    assert "Somebody else changed this repertoire meanwhile." in text(answer)
    assert again(book).about == "theirs"
    sent["seen"] = actions.state_of(again(book))
    assert maker.post(at("change", book.pk), sent).status_code == 302
    assert (again(book).name, again(book).about) == ("Mine", "mine")


def test_one_is_thrown_away_with_its_tunes_once_that_is_agreed_to(maker):
    book = a_repertoire(abc=UP)
    kept(book)
    assert "Its 1 tune goes" in text(maker.get(at("throw-away", book.pk)))
    assert again(book)
    maker.post(at("throw-away", book.pk))
    assert not Repertoire.objects.exists()
    assert not Melody.objects.exists()


def test_what_is_gone_in_the_same_moment_is_told(maker):
    book = a_repertoire(abc=UP)
    gone = actions.NotSo("This repertoire was thrown away meanwhile.")
    with mock.patch.object(actions, "locked", side_effect=gone):
        answer = maker.post(at("throw-away", book.pk), follow=True)
    assert "This repertoire was thrown away meanwhile." in text(answer)


# Its tunes


def test_a_packer_looks_and_changes_nothing(packer):
    book = a_repertoire(abc=UP)
    shown = text(packer.get(at("one", book.pk)))
    assert "Upstairs" in shown
    assert "checkbox" not in shown
    assert "Load tunes" not in shown
    assert packer.post(at("remove", book.pk)).status_code == 403


def test_tunes_are_found_by_title(maker):
    book = a_repertoire(abc=UP + "\n" + DOWN)
    shown = text(maker.get(at("one", book.pk), {"text": "down"}))
    assert "Downstairs" in shown
    assert "Upstairs" not in shown
    assert "No tune is called like that." in text(maker.get(at("one", book.pk), {"text": "z"}))


def test_fifty_tunes_stand_on_a_page(maker):
    book = a_repertoire(abc=many(60))
    assert "Number 51" not in text(maker.get(at("one", book.pk)))
    assert "Number 51" in text(maker.get(at("one", book.pk), {"page": 2}))


def test_ticked_tunes_are_removed_and_answers_of_before_are_old(maker):
    book = a_repertoire(abc=many(4))
    keys = list(book.melodies.values_list("pk", flat=True))
    other = a_repertoire("Other", UP).melodies.get()
    maker.post(at("remove", book.pk), {"tune": [keys[1], keys[2], other.pk, "x"]})
    assert titles(book) == ["Number 1", "Number 4"]
    assert Melody.objects.filter(pk=other.pk).exists()
    assert again(book).version == book.version + 1
    answer = maker.post(at("remove", book.pk), follow=True)
    assert "No tune was ticked, so none is removed." in text(answer)
    assert again(book).version == book.version + 1


@pytest.mark.data
@pytest.mark.parametrize(
    ("place", "order"),
    [(1, "3124"), (2, "1324"), (3, "1234"), (4, "1243"), (99, "1243")],
)
def test_a_tune_is_moved_and_the_others_keep_their_order(place, order):
    book = a_repertoire(abc=many(5))
    actions.remove_tunes(book, somebody(), [book.melodies.get(title="Number 5").pk])
    third = book.melodies.get(title="Number 3")
    actions.change_tune(third, somebody(), "Number 3", place)
    assert titles(book) == [f"Number {n}" for n in order]
    moved = book.melodies.get(title="Number 3")
    assert actions.place_of(moved) == min(place, 4)


def test_a_tune_moves_over_a_gap():
    book = a_repertoire(abc=many(5))
    actions.remove_tunes(book, somebody(), [book.melodies.get(title="Number 2").pk])
    actions.change_tune(book.melodies.get(title="Number 5"), somebody(), "Number 5", 2)
    assert titles(book) == ["Number 1", "Number 5", "Number 3", "Number 4"]
    actions.add_tunes(book, somebody(), queries.tunes_of(a_repertoire("B", UP)))
    assert titles(book)[-1] == "Upstairs"


def test_a_renamed_tune_is_called_so_everywhere(maker):
    book = a_repertoire(abc=UP)
    melody = book.melodies.get()
    assert 'value="Upstairs"' in text(maker.get(at("tune-change", melody.pk)))
    maker.post(at("tune-change", melody.pk), {"title": "Up we go", "place": "1"})
    assert titles(book) == ["Up we go"]
    assert [tune.title for tune in queries.tunes_of(book)] == ["Up we go"]


@pytest.mark.parametrize(("field", "value"), [("title", ""), ("place", "0"), ("place", "first")])
def test_a_bad_change_of_a_tune_keeps_what_was_typed(maker, field, value):
    book = a_repertoire(abc=UP)
    sent = {"title": "Typed", "place": "1", field: value}
    answer = maker.post(at("tune-change", book.melodies.get().pk), sent)
    assert answer.status_code == 422
    other = "place" if field == "title" else "title"
    assert f'value="{sent[other]}"' in text(answer)
    assert titles(book) == ["Upstairs"]


def test_a_tune_removed_meanwhile_is_told(maker):
    book = a_repertoire(abc=UP)
    melody = book.melodies.get()
    book.melodies.all().delete()
    with pytest.raises(actions.NotSo, match="removed meanwhile"):
        actions.change_tune(melody, somebody(), "x", 1)


# Customers


def test_a_customers_page_leads_to_their_repertoires(maker):
    ida = a_customer()
    book = a_repertoire(customer=ida)
    shown = text(maker.get(reverse("orders:customer", args=[ida.pk])))
    assert at("one", book.pk) in shown
    assert f"{at('new')}?customer={ida.pk}" in shown


def test_a_customers_data_hold_their_tunes(client):
    client.force_login(somebody("office"))
    ida = a_customer()
    a_repertoire("Ida's evenings", UP, customer=ida, about="by the fire")
    got = client.get(reverse("orders:customer-data", args=[ida.pk]))
    (told,) = json.loads(got.content)["repertoires"]
    assert (told["name"], told["note"]) == ("Ida's evenings", "by the fire")
    (tune,) = told["tunes"]
    assert (tune["title"], tune["from"]) == ("Upstairs", "book.abc, row 1")
    assert [note[0] for note in tune["music"]["notes"]] == [60, 62, 64, 65, 67, 69, 71, 72]


def test_erasing_a_customer_throws_their_repertoires_away_and_says_so(client):
    client.force_login(somebody("office"))
    ida = a_customer("Ottoline Quist")
    a_repertoire("Ottoline's evenings", UP.replace("Upstairs", "Waltz for Ottoline"), customer=ida)
    others = a_repertoire("The club's", DOWN, customer=a_customer("The club"))
    kept(a_repertoire("Ottoline's mornings", customer=ida))
    page = reverse("orders:customer-erase", args=[ida.pk])
    assert "Ottoline&#x27;s evenings, Ottoline&#x27;s mornings" in text(client.get(page))
    customer_actions.erase_customer(Customer.objects.get(pk=ida.pk), somebody(), notes=True)
    assert list(Repertoire.objects.all()) == [others]
    assert titles(others) == ["Downstairs"]
    assert Melody.objects.count() == 1


# Backups


def test_backups_carry_tunes_and_leave_out_what_is_made_of_them_or_not_yet_taken_in():
    room = {each for each in our_models() if each._meta.app_label == "repertoire"}
    assert {each.__name__ for each in room if is_kept(each)} == {"Repertoire", "Melody"}
    assert len(room) == 6
