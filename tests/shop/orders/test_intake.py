"""Orders taken in from a file: everything that is wrong at once, and all of it or nothing."""

import io
from datetime import date, timedelta
from decimal import Decimal
from unittest import mock

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from openpyxl import Workbook

from combwright.files.orders import ORDER_COLUMNS
from combwright.files.results import BadFile, BadTable
from combwright.shop.orders import actions, intake, intake_actions, nickname_actions
from combwright.shop.orders.actions import NotSo
from combwright.shop.orders.intake import read_contents
from combwright.shop.orders.models import Order, OrdersFile, Step, Wish
from combwright.shop.people.roles import Role
from shop.designs.drafts import a_comb, a_layout
from shop.orders.shelf import a_draft, text, words_of
from shop.rack.shelves import somebody

HEAD = ",".join(column.name for column in ORDER_COLUMNS)
GOOD = f"""{HEAD}
W-1,,2,A,standard,5 draw=D#5,,equal,442.5,,2031-04-30,2,120.50,yes,
W-1,plates,,C,standard,,5 draw,,,,,,120.50,,
W-2,,,low F,standard,,,,,,,,,,
W-3,,3,C,standard,,,,,,2031-05-01,,9,,yes
"""
pytestmark = [pytest.mark.django_db, pytest.mark.data]


def read(rows, **options):
    return read_contents(rows.encode(), "orders.csv", **options)


def problems(rows):
    with pytest.raises(BadTable) as refused:
        read(f"{HEAD}\n{rows}")
    return str(refused.value).splitlines()


def kept(rows=GOOD, person=None):
    return intake_actions.keep(person or somebody(), "orders.csv", rows.encode())


@pytest.fixture
def office(client):
    client.force_login(somebody("office"))
    return client


def send(client, content, name="orders.csv", **more):
    data = content if isinstance(content, bytes) else content.encode()
    return client.post(
        reverse("orders:intake"), {"file": SimpleUploadedFile(name, data), "decimal": "", **more}
    )


# Reading


def test_every_column_is_kept():
    first, second, *third = read(GOOD).orders
    assert (first.number, first.due, first.priority, first.value, first.promised) == (
        "W-1", date(2031, 4, 30), 2, Decimal("120.50"), True,
    )  # fmt: skip
    assert first.wishes[0] == {
        "what": "instrument", "quantity": 2, "key": "A", "layout": "standard",
        "changes": "5 draw=D#5", "kit": "", "temperament": "equal", "a4": Decimal("442.5"),
        "comb": "",
    }  # fmt: skip
    assert [each["what"] for each in first.wishes] == ["instrument", "plates"]
    assert (second.number, second.due, second.priority, second.value, second.promised) == (
        "W-2", None, 5, 1, False,
    )  # fmt: skip
    assert [(each.number, each.first, each.wishes[0]["quantity"]) for each in third] == [
        ("W-3/1", "", 1), ("W-3/2", "W-3/1", 1), ("W-3/3", "W-3/1", 1),
    ]  # fmt: skip


def test_own_layouts_and_combs_are_named_as_the_shop_writes_them_or_by_their_codes():
    layout, comb = a_layout(), a_comb()
    nickname_actions.add_nickname(somebody(), "crossroads", "standard")
    rows = "\n".join(
        [
            HEAD,
            f"A,,,C,layout-{layout.code}.toml,,,,,comb-{comb.code}.toml,,,,,",
            f"B,,,C,{layout.code},,,,,{comb.code},,,,,",
            "C,,,C,crossroads,,,,,,,,,,",
        ]
    )
    assert [(o.wishes[0]["layout"], o.wishes[0]["comb"]) for o in read(rows).orders] == [
        (layout.code, comb.code), (layout.code, comb.code), ("standard", ""),
    ]  # fmt: skip


def test_all_that_is_wrong_is_told_at_once_with_its_place():
    a_draft("W-9")
    told = problems(
        "W-9,,,C,standard,,,,,,,,,,\n"
        "new,,,C,standard,,,,,,,,,,\n"
        "W-1,harp,0,H,nosuch,5 draw=,7 sniff,meantone,300,nosuch,30.4.2031,0,-1,maybe,perhaps\n"
        "W-2,,,C,standard,,,,,,2031-01-01,,,,\n"
        "W-2,,,C,standard,,,,,,2031-01-02,,,,\n"
        "W-3,plates,,C,standard,,,,,,,,,,\n"
        "W-4,,,C,standard,,,,440.123,,,,1.005,,\n"
        "W-5,,,C,standard,,,,,,,,1,,\n"
        "W-5,,,C,standard,,,,,,,,2,,\n"
    )
    places = [line.split(": ")[0].removeprefix("orders.csv, ") for line in told]
    of_row_4 = HEAD.split(",")[1:]
    assert sorted(places) == sorted(
        [
            "row 2, column order", "row 3, column order",
            *(f"row 4, column {name}" for name in of_row_4),
            "row 6, column due", "row 7, column kit", "row 8, column a4", "row 8, column value",
            "row 10, column value",
        ]
    )  # fmt: skip


def test_a_number_that_the_shop_has_and_two_of_one_number_are_told():
    a_draft("W-9")
    rows = (
        "W-9,,,C,standard,,,,,,,,,,\nW-3,,2,C,standard,,,,,,,,,,yes\nW-3/2,,,C,standard,,,,,,,,,,\n"
    )
    told = problems(rows)
    assert [line.split(": ")[0] for line in told] == [
        "orders.csv, row 2, column order", "orders.csv, row 4, column order",
    ]  # fmt: skip
    assert "there is an order W-9 already" in told[0]


def test_a_nickname_that_means_two_layouts_is_asked_about():
    layout = a_layout()
    for code in ("standard", layout.code):
        nickname_actions.add_nickname(somebody(), "usual", code)
    (told,) = problems("W-1,,,C,usual,,,,,,,,,,\n")
    assert "usual means 2 layouts here" in told
    assert layout.code in told


def test_more_orders_than_can_be_made_at_once_are_refused():
    with (
        mock.patch.object(intake, "MOST_ORDERS", 3),
        pytest.raises(BadFile, match="holds 5 orders; take in at most 3"),
    ):
        read(GOOD)


def test_what_the_shop_exports_it_takes_in_again_elsewhere(client):
    client.force_login(somebody("office"))
    intake_actions.take_in(somebody(), kept().pk, opened=True)
    before = [(o.number, o.due, o.priority, o.value, o.promised) for o in Order.objects.all()]
    wishes = list(Wish.objects.order_by("order__number", "row").values_list("layout", "key", "a4"))
    exported = client.get(reverse("orders:csv")).content
    Order.objects.filter(part_of__isnull=False).delete()
    Order.objects.all().delete()
    file = intake_actions.keep(somebody(), "orders.csv", exported)
    intake_actions.take_in(somebody(), file.pk, opened=False)
    after = [(o.number, o.due, o.priority, o.value, o.promised) for o in Order.objects.all()]
    assert sorted(after) == sorted(before)
    again = Wish.objects.order_by("order__number", "row").values_list("layout", "key", "a4")
    assert list(again) == wishes


# Taking in


@pytest.mark.parametrize(("opened", "state"), [(False, "draft"), (True, "open")])
def test_all_orders_are_made_as_drafts_or_open(opened, state):
    assert intake_actions.take_in(somebody(), kept().pk, opened=opened) == 5
    orders = {each.number: each for each in Order.objects.all()}
    assert set(orders) == {"W-1", "W-2", "W-3/1", "W-3/2", "W-3/3"}
    assert {each.state for each in orders.values()} == {state}
    assert orders["W-3/3"].part_of == orders["W-3/1"]
    assert orders["W-1"].wishes.count() == 2
    assert "taken in from orders.csv" in words_of(orders["W-1"])
    assert not OrdersFile.objects.exists()


def test_a_file_is_taken_in_once():
    file = kept()
    intake_actions.take_in(somebody(), file.pk, opened=False)
    with pytest.raises(intake_actions.Gone):
        intake_actions.take_in(somebody(), file.pk, opened=False)
    assert Order.objects.count() == 5


def test_nothing_is_taken_in_when_one_order_has_come_meanwhile():
    file = kept()
    a_draft("W-3/2")
    with pytest.raises(BadTable, match="W-3/2 already"):
        intake_actions.take_in(somebody(), file.pk, opened=False)
    assert list(Order.objects.values_list("number", flat=True)) == ["W-3/2"]
    assert OrdersFile.objects.filter(pk=file.pk).exists()


@pytest.mark.django_db(transaction=True)
def test_nothing_is_taken_in_when_making_the_last_one_fails():
    file = kept()
    honest = actions.make_order

    def failing(person, facts, wishes):
        if facts["number"] == "W-3/3":
            raise NotSo("There is an order W-3/3 already; choose another number.")
        return honest(person, facts, wishes)

    with (
        mock.patch.object(actions, "make_order", failing),
        pytest.raises(NotSo, match="W-3/3 already"),
    ):
        intake_actions.take_in(somebody(), file.pk, opened=True)
    assert not Order.objects.exists()
    assert not Step.objects.exists()


def test_files_that_nobody_took_in_go_after_a_week():
    old, new = kept(), kept()
    past = timezone.now() - timedelta(days=intake_actions.KEPT_DAYS, minutes=1)
    OrdersFile.objects.filter(pk=old.pk).update(made_at=past)
    latest = kept()
    assert set(OrdersFile.objects.values_list("pk", flat=True)) == {new.pk, latest.pk}


# The pages


def test_a_file_is_looked_at_first_and_then_taken_in(office):
    answer = send(office, GOOD)
    assert answer.status_code == 302
    page = answer.headers["Location"]
    said = text(office.get(page))
    assert "W-3/3" in said
    assert "2 × A standard, 5 draw=D#5" in said
    assert not Order.objects.exists()
    answer = office.post(page, {"state": "open"}, follow=True)
    assert "5 orders are taken in." in text(answer)
    assert set(Order.objects.values_list("state", flat=True)) == {"open"}
    answer = office.post(page, {"state": "open"}, follow=True)
    assert "taken in before, or thrown away" in text(answer)
    assert Order.objects.count() == 5


def test_a_file_with_problems_is_not_kept_and_all_are_shown(office):
    answer = send(office, f"{HEAD}\n,,,H,nosuch,,,,,,,,,,\n")
    assert answer.status_code == 422
    assert "Please mend these 3 in the file" in text(answer)
    assert not OrdersFile.objects.exists()


def test_what_became_wrong_since_is_shown_and_nothing_is_taken_in(office):
    page = send(office, GOOD).headers["Location"]
    a_draft("W-2")
    answer = office.post(page, {"state": "draft"})
    assert answer.status_code == 422
    assert "there is an order W-2 already" in text(answer)
    assert Order.objects.count() == 1


def test_a_choice_that_is_none_takes_nothing_in(office):
    page = send(office, GOOD).headers["Location"]
    assert office.post(page, {"state": "sent"}).status_code == 422
    assert not Order.objects.exists()


def test_a_workbook_is_taken_in_too(office):
    book = Workbook()
    book.active.append(["order", "key", "layout", "quantity"])
    book.active.append(["W-1", "C", "standard", 2])
    packed = io.BytesIO()
    book.save(packed)
    page = send(office, packed.getvalue(), "orders.xlsx").headers["Location"]
    office.post(page, {"state": "draft"})
    assert Order.objects.get().wishes.get().quantity == 2


@pytest.mark.parametrize(
    ("content", "name"),
    [(b"", "orders.csv"), (b"\xff\xfe\x00", "orders.csv"), (b"PK\x03\x04", "o.xlsx")],
)
def test_what_is_no_file_of_orders_is_told_in_one_line(office, content, name):
    answer = send(office, content, name)
    assert answer.status_code == 422
    assert not OrdersFile.objects.exists()


@pytest.mark.parametrize("role", list(Role))
def test_owner_and_office_take_orders_in(client, role):
    client.force_login(somebody(role))
    page = reverse("orders:intake-one", args=[kept().pk])
    may = role in (Role.OWNER, Role.OFFICE)
    for address in (reverse("orders:intake"), page):
        assert client.get(address).status_code == (200 if may else 403)
    assert send(client, GOOD).status_code == (302 if may else 403)
    assert (reverse("orders:intake") in client.get("/orders/").content.decode()) == may


def test_the_preview_asks_the_database_as_often_for_many_orders_as_for_few(
    office, django_assert_max_num_queries
):
    many = HEAD + "".join(f"\nW-{n},,,C,standard,,,,,,,,,," for n in range(300))
    page = send(office, many).headers["Location"]
    with django_assert_max_num_queries(16):
        assert office.get(page).status_code == 200
