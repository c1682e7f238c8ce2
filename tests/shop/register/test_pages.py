"""The register: every instrument, every plate it holds, and where a batch's plates went."""

import io
import re

import numpy as np
import pypdf
import pypdfium2
import pytest
import zxingcpp
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from combwright.shop.bench import building, picking, sending
from combwright.shop.orders.models import Customer
from combwright.shop.people.roles import Role
from combwright.shop.rack.models import Batch
from combwright.shop.rack.plate_actions import label_plates
from combwright.shop.register.models import Fitted, Instrument
from combwright.shop.register.queries import instruments_of_batch
from shop.bench.days import a_set, being_picked, built, on_the_bench, pick_all, plate_of
from shop.people.persons import text
from shop.rack.shelves import somebody

pytestmark = pytest.mark.django_db


def address(page, *args):
    return reverse(f"register:{page}", args=args)


@pytest.fixture
def owner(client):
    client.force_login(somebody("owner"))
    return client


def codes(pdf):
    with pypdfium2.PdfDocument(pdf) as document:
        pictures = [page.render(scale=3).to_numpy() for page in document]
    return [
        code.text
        for picture in pictures
        for code in zxingcpp.read_barcodes(np.ascontiguousarray(picture[:, :, :3]))
    ]


@pytest.mark.parametrize("role", list(Role))
def test_everybody_sees_the_register(client, role):
    a_set("C", 1)
    serial = built().instruments.get().serial
    client.force_login(somebody(role))
    for where in (address("list"), address("one", serial), address("certificate", serial),
                  address("batch", "b1")):  # fmt: skip
        assert client.get(where).status_code == 200


def test_an_instrument_is_found_by_serial_number_order_or_customer(owner):
    a_set("C", 2)
    first = built("W-1")
    first.customer = Customer.objects.create(name="Ida Morrow")
    first.save()
    built("W-2")
    serial = first.instruments.get().serial
    other = Instrument.objects.exclude(serial=serial).get().serial
    for typed in (serial, "w-1", "morrow"):
        found = text(owner.get(address("list"), {"text": typed}))
        assert serial in found
        assert other not in found
    assert "No instrument is found" in text(owner.get(address("list"), {"text": "xyz"}))


def test_an_instrument_tells_its_plates_and_those_that_were_taken_out(owner):
    bins = a_set("C", 1)
    a_set("C", 1, batch="b2", cents=5)
    [labelled] = label_plates(bins["1 draw"], 1)
    order = being_picked()
    picking.pick(somebody(), plate_of(order, "1 lower draw"), plate=labelled)
    pick_all(order)
    picking.to_the_bench(somebody(), order)
    me, broken = somebody(), plate_of(order, "5 lower draw")
    building.fit(me, plate_of(order, "1 lower draw"))
    building.fit(me, broken)
    building.broke(me, broken, because="split at the rivet")
    picking.pick(me, picking.substitute(me, broken, "b2-C-5d"))
    building.fit(me, plate_of(order, "5 lower draw"))
    page = text(owner.get(address("one", order.instruments.get().serial)))
    assert labelled.code in page
    assert "b2-C-5d" in page
    assert "split at the rivet" in page


def test_the_certificate_names_every_plate_and_its_code_holds_the_serial_number(owner):
    a_set("C", 1)
    order = built()
    instrument = order.instruments.get()
    answer = owner.get(address("certificate", instrument.serial))
    said = pypdf.PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    assert instrument.serial in said
    for each in instrument.fitted.all():
        assert each.taken.bin.code in said
    assert "880.00" in said  # 6 draw of a comb in C is A5, [midi-tuning]
    assert codes(answer.content) == [instrument.serial]


def test_the_packing_slip_names_the_customer_and_its_code_holds_the_order(owner):
    a_set("C", 2)
    order = built(kit="5 draw")
    order.customer = Customer.objects.create(name="Ida Morrow", address="Quay 4\nHarbour")
    order.save()
    answer = owner.get(reverse("bench:slip", args=[order.pk]))
    said = pypdf.PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    for each in ("Ida Morrow", "Harbour", order.instruments.get().serial, "5 draw: F5"):
        assert each in said
    assert codes(answer.content) == [order.number]


def test_a_batch_leads_to_the_instruments_that_hold_its_plates(owner):
    a_set("C", 1)
    order = built()
    assert "Instruments with its plates" in text(owner.get(reverse("rack:trace", args=["b1"])))
    [found] = instruments_of_batch(Batch.objects.get(code="b1"))
    assert (found.now, found.earlier) == (20, 0)
    sending.cancel(somebody(), order, because="changed their mind")
    [found] = instruments_of_batch(Batch.objects.get(code="b1"))
    assert (found.now, found.earlier) == (0, 20)
    page = text(owner.get(address("one", found.serial)))
    assert "The plates it held" in page
    assert "taken apart" in page


def test_an_instrument_without_plates_has_no_certificate_and_says_why(owner):
    a_set("C", 1)
    order = on_the_bench()
    building.fit(somebody(), plate_of(order, "1 upper blow"))
    building.take_out(somebody(), plate_of(order, "1 upper blow"))
    serial = order.instruments.get().serial
    answer = owner.get(address("certificate", serial), follow=True)
    assert "holds no plate yet" in text(answer)


def test_the_pages_take_the_same_queries_for_one_plate_as_for_twenty(owner):
    a_set("C", 2)
    full, begun = built("W-1"), on_the_bench("W-2")
    building.fit(somebody(), plate_of(begun, "1 upper blow"))

    def queries(where):
        owner.get(where)
        with CaptureQueriesContext(connection) as done:
            assert owner.get(where).status_code == 200
        return len(done)

    one, twenty = (address("one", o.instruments.get().serial) for o in (begun, full))
    assert queries(one) == queries(twenty)
    one, twenty = (address("certificate", o.instruments.get().serial) for o in (begun, full))
    assert queries(one) == queries(twenty)


def more_of(instrument, first, last):
    """Make further copies of an instrument, each with a plate of it that was taken out again."""
    plate = instrument.fitted.first()
    copies = Instrument.objects.bulk_create(
        Instrument(
            serial=f"9{n:04d}", order=instrument.order, wish=instrument.wish, copy=n,
            title=instrument.title, made_by=instrument.made_by,
        )
        for n in range(first, last)
    )  # fmt: skip
    Fitted.objects.bulk_create(
        Fitted(
            instrument=each, taken=plate.taken, hole=1, deck="upper", breath="blow",
            midi=plate.midi, wanted_mc=plate.wanted_mc, batch=plate.batch,
            put_in_by=plate.put_in_by, taken_out_at=timezone.now(),
        )
        for each in copies
    )  # fmt: skip


@pytest.mark.data
def test_lists_take_the_same_queries_however_many_instruments_there_are(owner):
    a_set("C", 1)
    only = built().instruments.get()
    pages = [address("list"), address("list") + "?text=9", address("batch", "b1")]

    def counted():
        found = []
        for where in pages:
            with CaptureQueriesContext(connection) as done:
                assert owner.get(where).status_code == 200
            found.append(len(done))
        return found

    more_of(only, 2, 5)
    few = counted()
    more_of(only, 5, 80)
    assert counted() == few
    assert max(few) <= 5


@pytest.mark.data
def test_the_instruments_of_a_batch_come_fifty_at_a_time(owner):
    a_set("C", 1)
    only = built().instruments.get()
    more_of(only, 2, 62)
    newest = owner.get(address("batch", "b1"))
    assert [each.copy for each in newest.context["page"].object_list] == [*range(61, 11, -1)]
    oldest = owner.get(address("batch", "b1"), {"older": newest.context["page"].older})
    assert [each.copy for each in oldest.context["page"].object_list] == [*range(11, 0, -1)]
    last = oldest.context["page"].object_list[-1]
    assert (last.now, last.earlier) == (only.fitted.count(), 0)
    before = oldest.context["page"].object_list[-2]
    assert (before.now, before.earlier) == (0, 1)
    assert "older=" in text_of_links(newest)


def test_a_batchs_instruments_are_looked_for_one_by_one(owner):
    """SQLite says how it would look: from the newest on, each by an index; nothing is sorted."""
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL reads a small table whole, and rightly.")
    a_set("C", 1)
    built()
    found = str(instruments_of_batch(Batch.objects.get(code="b1")).explain())
    assert "(batch_id=? AND instrument_id=?)" in found
    assert "TEMP B-TREE" not in found


def text_of_links(answer):
    return " ".join(re.findall(r'href="([^"]*)"', answer.content.decode()))
