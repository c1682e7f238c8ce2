from datetime import date, timedelta
from urllib.parse import quote

import pytest
from django.urls import reverse

from combwright.comb.default_comb import default_comb
from combwright.files.orders import read_orders
from combwright.shop.designs.queries import layout as known_layout
from combwright.shop.orders import actions, nickname_actions
from combwright.shop.orders.models import Customer, Nickname, Order, Wish
from combwright.shop.orders.queries import layouts_named
from combwright.shop.orders.states import State
from combwright.shop.people.roles import Role
from shop.designs.drafts import a_comb, a_layout
from shop.orders.shelf import a_customer, a_draft, again, text
from shop.plans.days import a_plan, a_set, an_order
from shop.rack.shelves import somebody

pytestmark = pytest.mark.django_db
FACTS = {"priority": 5, "value": 1}
ROW = {
    "row-what": "instrument", "row-quantity": 1, "row-key": "A", "row-layout": "standard",
    "row-temperament": "equal", "row-a4": 440,
}  # fmt: skip


@pytest.fixture
def office(client):
    client.force_login(somebody("office"))
    return client


def page(name, *args, **query):
    return reverse(f"orders:{name}", args=args, query=query)


# Looking


@pytest.mark.parametrize("role", list(Role))
def test_everyone_may_look(client, role):
    client.force_login(somebody(role))
    order = a_draft("W-1/2", customer=a_customer())
    for name, args in [
        ("list", []), ("one", ["W-1/2"]), ("compare", []), ("csv", []), ("zip", []),
        ("customers", []), ("customer", [order.customer.pk]), ("nicknames", []),
    ]:  # fmt: skip
        assert client.get(page(name, *args)).status_code == 200, name


OFFICE, DESIGNERS = {"owner", "office"}, {"owner", "office", "maker"}
CHANGES = [
    ("new", [], OFFICE), ("change", ["W-1"], OFFICE), ("open", ["W-1"], OFFICE),
    ("draft", ["W-1"], OFFICE), ("copy", ["W-1"], OFFICE), ("split", ["W-1"], OFFICE),
    ("share", ["W-1"], OFFICE), ("customer-new", [], OFFICE), ("customer-erase", ["C"], OFFICE),
    ("customer-change", ["C"], OFFICE), ("customer-data", ["C"], OFFICE),
    ("row-new", ["W-1"], DESIGNERS), ("row", ["R"], DESIGNERS), ("row-remove", ["R"], DESIGNERS),
    ("nicknames", [], DESIGNERS), ("nickname-remove", ["N"], DESIGNERS),
]  # fmt: skip


@pytest.mark.parametrize("role", list(Role))
def test_who_may_change_what(client, role):
    order = a_draft("W-1", customer=a_customer())
    keys = {
        "R": order.wishes.get().pk, "C": order.customer.pk,
        "N": Nickname.objects.create(word="fiddle", layout="third-blow-raised").pk,
    }  # fmt: skip
    client.force_login(somebody(role))
    for name, args, may in CHANGES:
        ask = client.get if name == "customer-data" else client.post
        answer = ask(page(name, *(keys.get(each, each) for each in args)), {})
        assert (answer.status_code != 403) == (role in may), name


def test_a_search_finds_by_number_customer_state_and_day(office):
    today = date.today()
    a_draft("W-1", customer=a_customer("Ida Morrow"), due=today - timedelta(1))
    an_order("W-2", due=today + timedelta(5))
    sent = a_draft("W-3", customer=a_customer("Tom Averill"), due=today - timedelta(9))
    Order.objects.filter(pk=sent.pk).update(state=State.SENT)

    def found(**query):
        return [order.number for order, _what in office.get(page("list", **query)).context["rows"]]

    assert found() == ["W-3", "W-2", "W-1"]
    assert found(text="w-2") == ["W-2"]
    assert found(text="averill") == ["W-3"]
    assert found(state="open") == ["W-2"]
    assert found(state="way") == ["W-2", "W-1"]
    assert found(due="-1") == ["W-1"]
    assert found(due="7") == ["W-1", "W-2"]
    assert found(due="30", state="sent") == ["W-3"]
    assert found(state="nonsense", due="x") == ["W-3", "W-2", "W-1"]
    assert "Leave out a word" in text(office.get(page("list", text="zzz")))


@pytest.mark.data
def test_lists_ask_as_often_however_much_there_is(office, django_assert_num_queries):
    customer = a_customer()

    def more(n):
        for _each in range(n):
            a_draft("", {"key": "C"}, {"key": "A", "quantity": 2}, customer=customer)

    more(2)
    addresses = [page("list"), page("customers"), page("customer", customer.pk)]
    counts = [asked(office, address) for address in addresses]
    more(30)
    for n in range(20):
        a_customer(f"Somebody {n}")
    for address, count in zip(addresses, counts, strict=True):
        assert count <= 8
        with django_assert_num_queries(count):
            office.get(address)


def asked(client, address):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as caught:
        assert client.get(address).status_code == 200
    return len(caught)


@pytest.mark.data
def test_an_orders_page_asks_as_often_however_much_it_holds(office, django_assert_num_queries):
    a_layout()
    a_set(plates=40)
    small = a_draft("W-1", {"key": "C", "layout": "standard"})
    big = actions.make_order(
        somebody(), {"number": "W-2"},
        [{"key": key, "layout": layout, "quantity": 2}
         for key in "CGADEF" for layout in ("standard", "low-drone")],
    )  # fmt: skip
    count = asked(office, page("one", small.number))
    assert count <= 18
    with django_assert_num_queries(count):
        office.get(page("one", big.number))


def test_an_order_shows_its_wishes_plates_and_timeline(office):
    from combwright.shop.plans.actions import set_aside

    a_set(plates=2)
    order = an_order("W-1", quantity=1)
    set_aside(somebody(), a_plan())
    answer = office.get(page("one", "W-1"))
    said = text(answer)
    assert "1 × Key of C, " in said
    assert "<svg" in said
    assert "plates set aside" in said
    assert len(answer.context["plates"]) == 20
    assert order.steps.count() == len(answer.context["steps"].object_list)
    assert "Split into deliveries" not in said
    assert answer.context["following"] == ["open", "being picked", "cancelled"]


def test_a_wish_that_cannot_be_read_any_more_says_so_and_the_page_stands(office):
    order = a_draft("W-1")
    Wish.objects.update(layout="gone")
    answer = office.get(page("one", order.number))
    assert answer.status_code == 200
    assert "There is no &#x27;gone&#x27;" in text(answer)


def test_numbers_with_odd_signs_have_their_page(office):
    for number in ("W-0017/2", "Ä 5%", "W#1?x"):
        a_draft(number)
        assert office.get(page("one", number)).status_code == 200
        assert quote(number, safe="/") in office.get(page("list")).content.decode()


# Making and changing


def test_an_order_is_made_with_its_first_row_and_a_new_customer(office):
    given = {**FACTS, **ROW, "customer": "Ida Morrow", "new_customer": "on", "due": "2027-01-05",
             "row-layout": "country", "row-kit": "5 draw"}  # fmt: skip
    answer = office.post(page("new"), given)
    order = Order.objects.get()
    assert answer.headers["Location"] == page("one", order.number)
    assert (order.customer.name, order.due) == ("Ida Morrow", date(2027, 1, 5))
    wish = order.wishes.get()
    assert (wish.layout, wish.key, wish.kit) == ("fifth-draw-raised", "A", "5 draw")


def test_an_order_may_be_made_without_a_row_to_be_designed(office):
    answer = office.post(page("new"), {**FACTS, "design": "1"})
    order = Order.objects.get()
    assert answer.headers["Location"] == page("wish-new", order.number)
    assert not order.wishes.exists()


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"row-key": "H"}, "is no key"),
        ({"row-layout": "nonsense"}, "There is no"),
        ({"row-changes": "12 draw=C5"}, "12"),
        ({"row-changes": "what"}, "what"),
        ({"row-kit": "55 draw"}, "55 draw"),
        ({"row-a4": "100"}, "415"),
        ({"row-quantity": "0"}, "1"),
        ({"row-what": "plates"}, "loose plates are wanted"),
        ({"number": "customers/1"}, "another page"),
        ({"number": "W-9"}, "There is an order W-9 already"),
        ({"customer": "Nobody"}, "There is no customer"),
        ({"priority": "0"}, "1"),
        ({"value": "-1"}, "0"),
        ({"due": "tomorrow"}, "date"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_is_kept(office, wrong, why):
    a_draft("W-9")
    answer = office.post(page("new"), {**FACTS, **ROW, "note": "keep this", **wrong})
    assert answer.status_code == 422
    assert why in text(answer)
    assert "keep this" in text(answer)
    assert Order.objects.count() == 1
    assert not Customer.objects.exists()


def test_of_customers_with_one_name_it_is_asked_which(office):
    first, second = a_customer("Ida"), a_customer("ida")
    answer = office.post(page("new"), {**FACTS, **ROW, "customer": "Ida"})
    assert f"Ida #{first.pk} or ida #{second.pk}" in text(answer)
    chosen = f"Ida #{second.pk}"
    office.post(page("new"), {**FACTS, **ROW, "customer": chosen})
    assert Order.objects.get().customer == second


def test_facts_are_changed_and_the_second_of_two_editors_is_told(office):
    order = a_draft("W-1", customer=a_customer())
    form = page("change", "W-1")
    seen = office.get(form).context["seen"]
    given = {**FACTS, "customer": "Ida Morrow", "price": "99.50", "seen": seen}
    assert office.post(form, given).status_code == 302
    late = office.post(form, {**given, "price": "1"})
    assert late.status_code == 422
    assert "changed by somebody else" in text(late)
    assert 'value="1"' in text(late)
    assert again(order).price == 99.5
    knowingly = {**given, "price": "1", "seen": late.context["seen"]}
    assert office.post(form, knowingly).status_code == 302
    wrong = office.post(form, {**given, "priority": "x", "seen": 1})
    assert wrong.context["seen"] == 1


def test_opening_and_taking_back_by_buttons(office):
    order = a_draft("W-1")
    office.post(page("open", "W-1"), {"seen": 1})
    assert again(order).state == State.OPEN
    late = office.post(page("draft", "W-1"), {"seen": 1}, follow=True)
    assert "Not done" in text(late)
    assert again(order).state == State.OPEN
    office.post(page("draft", "W-1"), {"seen": again(order).version})
    assert again(order).state == State.DRAFT
    assert "look at the order again" in text(office.post(page("open", "W-1"), {}, follow=True))


def test_splitting_and_copying_by_the_pages(office):
    a_draft("W-1", {"key": "C", "quantity": 50})
    form = page("split", "W-1")
    wrong = office.post(form, {"seen": 1, "row_1": 50})
    assert wrong.status_code == 422
    assert "leave one at least" in text(wrong)
    answer = office.post(form, {"seen": 1, "row_1": 20, "due": "2027-03-01"})
    assert answer.headers["Location"] == page("one", "W-1/2")
    assert "W-1/2" in text(office.get(page("one", "W-1")))
    copied = office.post(page("copy", "W-1"))
    assert copied.status_code == 302
    assert Order.objects.count() == 3


def test_rows_are_added_changed_and_removed_as_plain_forms(office):
    order = a_draft("W-1")
    row = {name.removeprefix("row-"): value for name, value in ROW.items()}
    assert office.post(page("row-new", "W-1"), {**row, "seen": 1}).status_code == 302
    wish = order.wishes.get(row=2)
    late = office.post(page("row", wish.pk), {**row, "key": "D", "seen": 1})
    assert late.status_code == 422
    assert "somebody else" in text(late)
    given = {**row, "key": "D", "changes": "5 draw=A5", "seen": again(order).version}
    assert office.post(page("row", wish.pk), given).status_code == 302
    assert (again(order).wishes.get(row=2).key) == "D"
    office.post(page("row-remove", wish.pk), {"seen": again(order).version})
    assert order.wishes.count() == 1
    assert office.post(page("row-remove", wish.pk), {"seen": 1}).status_code == 404


# Nicknames


def test_a_nickname_with_two_meanings_asks_which(office):
    for layout in ("third-blow-raised", "third-draw-lowered"):
        nickname_actions.add_nickname(somebody(), "Fiddle", layout)
    answer = office.post(page("new"), {**FACTS, **ROW, "row-layout": " fiddle "})
    assert answer.status_code == 422
    assert "Which layout is meant?" in text(answer)
    assert not Order.objects.exists()
    given = {**FACTS, **ROW, "row-layout": "fiddle", "row-which": "third-draw-lowered"}
    assert office.post(page("new"), given).status_code == 302
    assert Wish.objects.get().layout == "third-draw-lowered"


@pytest.mark.data
def test_words_that_mean_layouts():
    a_layout()
    nickname_actions.add_nickname(somebody(), "Für Elise", "low-drone")
    nickname_actions.add_nickname(somebody(), "country", "low-drone")
    assert layouts_named("STANDARD") == ["standard"]
    assert layouts_named("richter") == ["standard"]
    assert layouts_named("third blow raised") == ["third-blow-raised"]
    assert layouts_named("low_drone") == ["low-drone"]
    assert layouts_named(known_layout("low-drone").title.upper()) == ["low-drone"]
    assert layouts_named("FÜR  elise") == ["low-drone"]
    assert layouts_named("country") == ["fifth-draw-raised", "low-drone"]
    assert layouts_named("nobody's") == []


def test_nicknames_are_added_and_removed(office):
    listed = page("nicknames")
    given = {"word": "Fiddle", "layout": "third-blow-raised"}
    assert office.post(listed, given).status_code == 302
    twice = office.post(listed, {**given, "word": "fiddle"})
    assert twice.status_code == 422
    assert "already" in text(twice)
    wrong = office.post(listed, {"word": "x", "layout": "nonsense"})
    assert "There is no" in text(wrong)
    key = Nickname.objects.get().pk
    assert "Fiddle" in text(office.get(listed))
    office.post(page("nickname-remove", key))
    assert not Nickname.objects.exists()


# Side by side


def test_two_wishes_side_by_side_tell_what_the_second_gains_and_loses(office):
    order = a_draft("W-1", {"key": "C"}, {"key": "C", "changes": "5 draw=F#5", "a4": 442})
    first, second = order.wishes.order_by("row")
    answer = office.get(page("compare", a=first.pk, b=second.pk))
    said = text(answer)
    # In C, 5 draw raised gives F#5 under the breath and takes F5 away.
    assert "5 draw: F5 becomes F#5" in said
    assert answer.context["against"].gained
    assert [hole for hole, _l, _r, differs in answer.context["holes"] if differs] == [5]
    assert [fact.name for fact in answer.context["facts"] if fact.differs] == [
        "Changes", "A4 in hertz",
    ]  # fmt: skip
    by_words = office.get(page("compare", a="W-1 1", b="W-1 2"))
    assert by_words.context["shown"] == answer.context["shown"]
    assert "There is no row W-1 7" in text(office.get(page("compare", a="W-1 1", b="W-1 7")))


# Files


@pytest.mark.data
def test_orders_as_a_file_read_back_as_the_same_orders(office, tmp_path):
    a_draft(
        "W-1", {"key": "A", "quantity": 3, "layout": "third-blow-raised", "kit": "5 draw"},
        {"key": "low F", "what": "plates", "kit": "4 draw=C#5", "a4": "442.5"},
        due=date(2027, 1, 5), priority=2, value="19.50", promised=True, note="not told",
    )  # fmt: skip
    a_draft("=W-2/2", {"key": "Bb", "changes": "5 draw=E5", "temperament": "7-limit"})
    a_draft("empty").wishes.all().delete()
    answer = office.get(page("csv"))
    assert "not told" not in answer.content.decode("utf-8-sig")
    (tmp_path / "orders.csv").write_bytes(answer.content)
    second, first = read_orders(tmp_path / "orders.csv", comb=default_comb()).value
    assert (first.name, second.name) == ("W-1", "=W-2/2")
    assert (first.priority, first.promised, first.due) == (2, True, date(2027, 1, 5))
    assert first.value == 4 * 19.5
    from combwright.shop.orders.reading import planned_orders

    assert [
        (each.name, each.value, [copy.design for copy in each.copies]) for each in (first, second)
    ] == [
        (each.name, each.value, [copy.design for copy in each.copies])
        for each in planned_orders(Order.objects.exclude(number="empty").order_by("pk"))
    ]
    assert office.get(page("csv", text="W-1")).content.count(b"\r\n") == 3


@pytest.mark.data
def test_the_zip_brings_the_shops_own_layouts_and_combs_along(office, tmp_path):
    import io
    import zipfile

    a_layout()
    a_comb(code="short-comb")
    a_draft("W-1", {"key": "C", "layout": "low-drone", "comb": "short-comb"})
    answer = office.get(page("zip"))
    zipfile.ZipFile(io.BytesIO(answer.content)).extractall(tmp_path)
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == ["comb-short-comb.toml", "layout-low-drone.toml", "orders.csv"]
    (order,) = read_orders(tmp_path / "orders.csv", comb=default_comb()).value
    assert order.name == "W-1"
