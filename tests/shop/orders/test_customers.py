import json

import pytest
from django.db import connection
from django.urls import reverse

from combwright.shop.orders import actions, customer_actions, sharing
from combwright.shop.orders.models import Customer, Order
from combwright.shop.orders.queries import shown_mark
from combwright.shop.orders.states import State
from shop.api.programs import a_program
from shop.orders.shelf import a_customer, a_draft, text
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]
PERSON = {
    "name": "Ottoline Quist", "email": "quist@example.org", "phone": "0555 7391",
    "address": "Tinker's Row 9", "about": "plays left-handed",
}  # fmt: skip


def everything_kept():
    """Return all texts of the whole database."""
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
        kept = []
        for table in tables:
            cursor.execute(f'SELECT * FROM "{table}"')
            kept += [str(row) for row in cursor.fetchall()]
    return "\n".join(kept)


def a_known_person():
    customer = a_customer(**PERSON)
    order = a_draft("W-1", customer=customer, note="for Ottoline, ring 0555 7391", price=210)
    token = sharing.make_share(order, somebody(), 7)
    sharing.say_yes(token, seen=shown_mark(order), name="O. Quist", words="Ottoline says yes")
    actions.open_order(order, somebody())
    sent = a_draft("W-2", customer=customer, tracking="parcel for Quist")
    for state in (State.OPEN, State.ASIDE, State.PICKING, State.BENCH, State.BUILT):
        actions.advance(actions.locked(sent), state, somebody(), "on its way")
    actions.advance(actions.locked(sent), State.SENT, somebody(), "parcel for Quist")
    gone = a_draft("W-3", customer=customer)
    because = "cancelled: Ottoline moved away"
    actions.advance(actions.locked(gone), State.CANCELLED, somebody(), because)
    return customer, token


TRACES = [*PERSON.values(), "Ottoline", "Quist", "0555 7391"]


def test_erasing_leaves_nothing_of_the_person_and_keeps_the_orders(client, caplog):
    customer, token = a_known_person()
    assert all(trace in everything_kept() for trace in ["Ottoline", "Quist", "0555 7391"])
    caplog.clear()
    caplog.set_level("INFO")
    client.force_login(somebody("office"))
    page = reverse("orders:customer-erase", args=[customer.pk])
    asked = client.get(page)
    assert "What stays, and why" in text(asked)
    assert client.post(page, {"notes": "on"}).status_code == 422
    assert Customer.objects.get().name == "Ottoline Quist"
    assert client.post(page, {"notes": "on", "sure": "on"}).status_code == 302
    kept = everything_kept()
    for trace in TRACES:
        assert trace not in kept, trace
        assert trace not in caplog.text
    assert "customer_erased" in caplog.text
    there = Customer.objects.get()
    assert (there.name, there.erased_at is None) == ("erased", False)
    assert {each.number: each.customer for each in Order.objects.all()} == dict.fromkeys(
        ["W-1", "W-2", "W-3"], there
    )
    assert Order.objects.get(number="W-1").price == 210
    assert client.get(reverse("orders:shared"), {"key": token}).status_code == 410


def test_notes_of_orders_stay_where_the_tick_is_taken_off():
    customer, _token = a_known_person()
    customer_actions.erase_customer(customer, somebody(), notes=False)
    assert Order.objects.get(number="W-1").note == "for Ottoline, ring 0555 7391"


def test_erased_people_are_not_changed_found_or_erased_again(client):
    customer, _token = a_known_person()
    customer_actions.erase_customer(customer, somebody(), notes=True)
    with pytest.raises(actions.NotSo, match="were erased"):
        customer_actions.erase_customer(customer, somebody(), notes=True)
    with pytest.raises(actions.NotSo, match="were erased"):
        customer_actions.change_customer(customer, somebody(), {"name": "x"}, seen="")
    client.force_login(somebody("office"))
    given = {"customer": "erased", "priority": 5, "value": 1, "row-key": "C"}
    answer = client.post(reverse("orders:new"), given)
    assert "There is no customer" in text(answer)


def test_all_of_a_persons_data_is_one_document(client):
    customer, _token = a_known_person()
    client.force_login(somebody("office"))
    answer = client.get(reverse("orders:customer-data", args=[customer.pk]))
    assert "attachment" in answer.headers["Content-Disposition"]
    told = json.loads(answer.content)
    assert {name: told["customer"][name] for name in PERSON} == PERSON
    assert [each["order"] for each in told["orders"]] == ["W-1", "W-2", "W-3"]
    first = told["orders"][0]
    assert first["note"].startswith("for Ottoline")
    assert first["links"][0]["yes_name"] == "O. Quist"
    assert first["rows"][0]["layout"] == "standard"
    for trace in TRACES:
        assert trace in answer.content.decode()


@pytest.mark.parametrize(
    ("role", "sees"), [("owner", True), ("office", True), ("packer", True), ("maker", False)]
)
def test_only_who_takes_or_sends_orders_sees_how_people_are_reached(client, role, sees):
    customer, _token = a_known_person()
    client.force_login(somebody(role))
    shown = text(client.get(reverse("orders:customer", args=[customer.pk])))
    listed = text(client.get(reverse("orders:customers")))
    found = text(client.get(reverse("orders:customers"), {"text": "quist@example"}))
    assert ("quist@example.org" in shown) == sees
    assert ("0555 7391" in shown) == sees
    assert ("quist@example.org" in listed) == sees
    assert ("Ottoline Quist" in found) == sees
    assert "Ottoline Quist" in listed


def test_two_who_change_a_customer_do_not_undo_one_another_unseen(client):
    customer = a_customer()
    client.force_login(somebody("office"))
    page = reverse("orders:customer-change", args=[customer.pk])
    seen = client.get(page).context["form"]["seen"].value()
    assert client.post(page, {"name": "Ida M.", "seen": seen}).status_code == 302
    late = client.post(page, {"name": "Ida X.", "seen": seen})
    assert late.status_code == 422
    assert "Somebody else" in text(late)
    assert 'value="Ida X."' in text(late)
    newer = late.context["form"]["seen"].value()
    assert client.post(page, {"name": "Ida X.", "seen": newer}).status_code == 302
    assert Customer.objects.get().name == "Ida X."


def test_a_wrong_email_keeps_what_was_typed(client):
    client.force_login(somebody("office"))
    answer = client.post(reverse("orders:customer-new"), {"name": "Ida", "email": "nowhere"})
    assert answer.status_code == 422
    assert "nowhere" in text(answer)
    assert not Customer.objects.exists()


def test_erasing_reaches_what_programs_were_answered():
    program = a_program()
    body = {
        "outer_key": "web-1", "customer": {"name": "Ottoline Quist", "email": "quist@example.org"},
        "wishes": [{"key": "C", "layout": "standard"}],
    }  # fmt: skip
    first = program.post("/orders", body, key="k-once")
    other = {**body, "outer_key": "web-2", "customer": {"name": "Tom Averill"}}
    assert (first.status_code, program.post("/orders", other).status_code) == (201, 201)
    assert program.post("/orders", body, key="k-once").json() == first.json()
    assert "quist@example.org" in everything_kept()
    person = Customer.objects.get(name="Ottoline Quist")
    customer_actions.erase_customer(person, somebody(), notes=True)
    assert "quist" not in everything_kept().lower()
    assert "Tom Averill" in everything_kept()
    again = program.post("/orders", body, key="k-once").json()
    assert again["customer"]["name"] == "erased"
    assert Order.objects.count() == 2
