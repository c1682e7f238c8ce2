"""The bench's pages as a browser without JavaScript meets them."""

import io
import re

import pypdf
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from combwright.shop.bench import urls
from combwright.shop.orders.states import State
from combwright.shop.people.roles import TABLE, May, Role
from combwright.shop.plans.models import Taken
from combwright.shop.rack.models import Bin, Entry
from combwright.shop.rack.plate_actions import label_plates
from shop.bench.days import (
    a_set,
    an_order,
    being_picked,
    built,
    in_the_rack,
    on_the_bench,
    out_for_orders,
    pick_all,
    plate_of,
    set_aside,
    sound,
)
from shop.people.persons import text
from shop.rack.shelves import somebody

pytestmark = pytest.mark.django_db
LOOK, PICK, BUILD = TABLE[May.LOOK], TABLE[May.PICK], TABLE[May.BUILD]
SEND, ORDER = TABLE[May.SEND], TABLE[May.ORDER]
#: Page, method, who may.
PAGES = [
    ("list", "get", LOOK),
    ("begin", "post", PICK),
    ("to-the-bench", "post", PICK),
    ("walk", "get", PICK),
    ("scan", "post", PICK),
    ("pick", "post", PICK),
    ("unpick", "post", PICK),
    ("not-there", "post", PICK),
    ("instead", "get", PICK),
    ("instead", "post", PICK),
    ("fit", "post", BUILD),
    ("take-out", "post", BUILD),
    ("broke", "get", BUILD),
    ("broke", "post", BUILD),
    ("filed", "get", BUILD),
    ("filed", "post", BUILD),
    ("build", "get", LOOK),
    ("put-back", "get", PICK),
    ("put-back", "post", PICK),
    ("seat", "get", LOOK),
    ("finish", "post", BUILD),
    ("reopen", "post", BUILD),
    ("send", "get", SEND),
    ("send", "post", SEND),
    ("slip", "get", LOOK),
    ("take-apart", "get", BUILD),
    ("take-apart", "post", BUILD),
    ("cancel", "get", ORDER),
    ("cancel", "post", ORDER),
]
OF_A_PLATE = {"pick", "unpick", "not-there", "instead", "fit", "take-out", "broke", "filed"}
OF_SOME = {"begin", "to-the-bench", "walk", "scan", "list"}


def address(page, order, taken=None):
    if page in OF_SOME:
        return reverse(f"bench:{page}") + f"?orders={order.pk}"
    if page in OF_A_PLATE:
        return reverse(f"bench:{page}", args=[taken.pk])
    return reverse(f"bench:{page}", args=[order.pk, 1, 1] if page == "seat" else [order.pk])


def state():
    rows = [list(model.objects.order_by("pk").values()) for model in (Taken, Entry, Bin)]
    return [*rows, *(each.state for each in type(Taken.objects.first().order).objects.all())]


def forms(answer, ending):
    """Return the addresses of a page's forms that end so."""
    return re.findall(rf'action="([^"]*{ending})"', answer.content.decode())


@pytest.fixture
def owner(client):
    client.force_login(somebody("owner"))
    return client


def test_no_page_is_missing_from_the_table():
    assert {page for page, *_ in PAGES} == {each.name for each in urls.urlpatterns}


@pytest.mark.parametrize("role", list(Role))
def test_each_role_may_what_the_table_says_and_nothing_else(client, role):
    a_set("C", 2)
    order = being_picked()
    taken = plate_of(order, "3 upper blow")
    client.force_login(somebody(role))
    for page, method, who in PAGES:
        if role in who:
            if method == "get":
                shown = client.get(address(page, order, taken), follow=True)
                assert shown.status_code == 200, page
            continue
        before = state()
        answer = getattr(client, method)(address(page, order, taken))
        assert answer.status_code == 403, page
        assert state() == before


def test_getting_a_page_changes_nothing(owner):
    a_set("C", 2)
    order = being_picked()
    taken = plate_of(order, "3 upper blow")
    before = state()
    for page, _method, _who in PAGES:
        owner.get(address(page, order, taken))
    assert state() == before


def test_an_order_goes_from_set_aside_to_sent_by_forms_alone(owner):
    a_set("C", 2)
    order = set_aside(an_order("W-1", kit="5 draw"))
    shown = owner.get(reverse("bench:list"))
    assert "W-1" in text(shown)
    walk = owner.post(reverse("bench:begin"), {"order": order.pk}, follow=True)
    assert "0 of 21" in text(walk)
    picks = forms(walk, "/pick/")
    assert len(picks) == 21
    early = owner.post(reverse("bench:to-the-bench"), {"orders": order.pk}, follow=True)
    assert "still wants" in text(early)
    for each in picks:
        owner.post(each)
    assert "21 of 21" in text(owner.get(address("walk", order)))
    assert in_the_rack() == 40 - 21
    owner.post(reverse("bench:to-the-bench"), {"orders": order.pk})
    seat = reverse("bench:seat", args=[order.pk, 1, 1])
    for n in range(20):
        page = owner.get(seat)
        assert f"{n} of 20 seated" in text(page)
        [fit] = forms(page, "/seat/")
        owner.post(fit)
    assert "Every seat has its plate" in text(owner.get(seat))
    done = owner.post(reverse("bench:finish", args=[order.pk]), follow=True)
    assert "Packing slip" in text(done)
    owner.post(reverse("bench:send", args=[order.pk]), {"tracking": "red van 7"})
    order.refresh_from_db()
    assert (order.state, order.tracking) == (State.SENT, "red van 7")
    assert sound()


def test_the_walk_goes_from_bin_to_bin_in_natural_order(owner):
    bins = a_set("C", 1)
    for n, key in enumerate(["5 draw", "3 blow", "1 draw"], start=9):
        Bin.objects.filter(pk=bins[key].pk).update(walk=f"A-{n}")
    walk = owner.get(address("walk", being_picked())).content.decode()
    found = re.findall(r'data-bin="([^"]+)"', walk)
    assert len(found) == 20
    assert found[:3] == ["b1-C-5d", "b1-C-3b", "b1-C-1d"]


def test_a_tick_is_taken_back_by_its_own_button(owner):
    a_set("C", 1)
    order = being_picked()
    taken = plate_of(order, "5 lower draw")
    owner.post(address("pick", order, taken))
    assert "1 of 20" in text(owner.get(address("walk", order)))
    owner.post(address("unpick", order, taken))
    assert "0 of 20" in text(owner.get(address("walk", order)))
    assert in_the_rack() == 20
    assert sound()


def test_a_script_is_told_in_json_whether_a_tick_was_taken(owner):
    a_set("C", 1)
    order = being_picked()
    taken, asks = plate_of(order, "5 lower draw"), {"HTTP_ACCEPT": "application/json"}
    for _time in range(2):
        answer = owner.post(address("pick", order, taken), **asks)
        assert (answer.status_code, answer["Content-Type"]) == (200, "application/json")
    assert in_the_rack() == 19
    owner.post(address("put-back", order))
    refused = owner.post(address("pick", order, taken), **asks)
    assert refused.status_code == 409
    assert "open" in refused.json()["words"]
    assert sound()


def test_a_bins_code_picks_its_next_plate_and_says_the_tray(owner):
    a_set("C", 2)
    order = being_picked(quantity=2)
    scan = reverse("bench:scan")
    for copy in (1, 2):
        sent = {"orders": order.pk, "text": "B:b1-C-5d"}
        answer = owner.post(scan, sent, follow=True)
        assert f"into tray W-1 / 1.{copy}" in text(answer)
    again = owner.post(scan, {"orders": order.pk, "text": "http://shop/papers/s/b/b1-C-5d"})
    assert again.status_code == 422
    assert "picked already" in text(again)
    assert sound()


def test_a_plates_code_picks_that_very_plate(owner):
    bins = a_set("C", 2)
    labelled = label_plates(bins["5 draw"], 1)[0]
    order = being_picked()
    sent = {"orders": order.pk, "text": labelled.code}
    owner.post(reverse("bench:scan"), sent)
    labelled.refresh_from_db()
    assert labelled.bin is None
    assert plate_of(order, "5 lower draw").plate == labelled
    again = owner.post(reverse("bench:scan"), sent)
    assert "has left the rack: W-1" in text(again)


@pytest.mark.parametrize("typed", ["", "no such thing", "b1-C-1d-of-another-rack"])
def test_a_scan_that_names_nothing_says_so_and_keeps_what_was_typed(owner, typed):
    a_set("C", 1)
    order = being_picked()
    before = state()
    answer = owner.post(reverse("bench:scan"), {"orders": order.pk, "text": typed})
    assert answer.status_code == 422
    assert f'value="{typed}"' in answer.content.decode() or not typed
    assert state() == before


def test_not_there_books_it_offers_the_cheapest_and_goes_on(owner):
    a_set("C", 1)
    a_set("C", 1, batch="b2", cents=10)
    order = being_picked()
    taken = plate_of(order, "5 lower draw")
    offered = owner.post(address("not-there", order, taken), follow=True)
    assert "was not in bin b1-C-5d" in text(offered)
    assert "b2-C-5d" in text(offered)
    assert "10.0" in text(offered)  # the retune in cents
    assert Entry.objects.filter(why=Entry.MISSING).count() == 1
    chosen = owner.post(address("instead", order, taken), {"bin": "b2-C-5d"}, follow=True)
    assert "go to bin b2-C-5d" in text(chosen)
    pick_all(order)
    owner.post(reverse("bench:to-the-bench"), {"orders": order.pk})
    order.refresh_from_db()
    assert order.state == State.BENCH
    assert sound()


def test_the_bin_that_lacked_a_plate_is_offered_last_and_says_so(owner):
    a_set("C", 2)
    a_set("C", 1, batch="b2", cents=10)
    order = being_picked()
    taken = plate_of(order, "5 lower draw")
    offered = owner.post(address("not-there", order, taken), follow=True)
    bins = re.findall(r'<th scope="row">([\w-]+)', offered.content.decode())
    assert (bins[0], bins[-1]) == ("b2-C-5d", "b1-C-5d")
    assert "b1-C-5d where it was not" in text(offered)


def test_a_bin_that_does_not_suit_is_refused_in_a_sentence(owner):
    a_set("C", 2)
    order = being_picked()
    taken = plate_of(order, "5 lower draw")
    owner.post(address("not-there", order, taken))
    for wrong in ("b1-C-1b", "no bin"):
        answer = owner.post(address("instead", order, taken), {"bin": wrong})
        assert answer.status_code == 422
        assert wrong in text(answer)
    assert sound()


def test_an_order_without_a_substitute_is_put_back_and_told_where_its_plates_lie(owner):
    a_set("C", 1)
    order = being_picked()
    taken = plate_of(order, "5 lower draw")
    owner.post(address("pick", order, plate_of(order, "1 upper blow")))
    offered = owner.post(address("not-there", order, taken), follow=True)
    assert "No free plate" in text(offered)
    asked = owner.get(address("put-back", order))
    assert "b1-C-1b" in text(asked)
    owner.post(address("put-back", order))
    order.refresh_from_db()
    assert order.state == State.OPEN
    assert in_the_rack() == 19
    assert sound()


def test_a_seat_says_what_goes_in_and_which_way_up(owner):
    a_set("C", 1, cents=-20)
    order = on_the_bench()
    page = text(owner.get(address("seat", order) + "?seat=5-lower"))
    assert "Lower deck, reed side down" in page  # common practice: out on draw, below
    assert "facing out" in page
    assert "698.46 Hz" in page  # F5, [midi-tuning]
    assert "+20.0 cents, raise: file tip" in page
    assert "eye protection" in page
    upper = text(owner.get(address("seat", order) + "?seat=3-upper"))
    assert "Upper deck, reed side down" in upper
    assert "facing in" in upper


def test_a_seating_is_undone_from_the_page(owner):
    a_set("C", 1)
    order = on_the_bench()
    owner.post(address("fit", order, plate_of(order, "1 upper blow")))
    page = owner.get(address("seat", order))
    assert "Undo the step before: 1 upper blow" in text(page)
    owner.post(forms(page, "/take-out/")[-1])
    assert plate_of(order, "1 upper blow").state == Taken.PICKED
    assert sound()


def test_a_plate_that_broke_is_replaced_from_the_rack(owner):
    a_set("C", 1)
    a_set("C", 1, batch="b2", cents=5)
    order = on_the_bench()
    taken = plate_of(order, "5 lower draw")
    owner.post(address("fit", order, taken))
    silent = owner.post(address("broke", order, taken), {"because": " "})
    assert silent.status_code == 422
    owner.post(address("broke", order, taken), {"because": "split at the rivet"})
    owner.post(address("instead", order, taken), {"bin": "b2-C-5d"})
    seat = owner.get(address("seat", order) + "?seat=5-lower")
    assert "Taken from bin b2-C-5d" in text(seat)
    [pick] = forms(seat, "/pick/")
    owner.post(pick)
    owner.post(address("fit", order, plate_of(order, "5 lower draw")))
    assert plate_of(order, "5 lower draw").state == Taken.FITTED
    assert in_the_rack() + out_for_orders() == 40 - 1
    assert sound()


def test_a_filed_plate_goes_into_a_bin_that_tells_its_pitch(owner):
    a_set("C", 1)
    order = on_the_bench()
    taken = plate_of(order, "5 lower draw")
    for wrong in ("", "H9", "F5+5000"):
        answer = owner.post(address("filed", order, taken), {"pitch": wrong})
        assert answer.status_code == 422
        assert f'value="{wrong}"' in answer.content.decode() or not wrong
    owner.post(address("filed", order, taken), {"pitch": "F5+7.5"})
    home = Bin.objects.get(code="b1-C-5d filed 1")
    assert (home.note, home.cents, home.count) == ("F5", 7.5, 1)
    assert sound()


def test_a_maker_who_ends_the_building_sees_the_serial_number_and_no_refusal(client):
    a_set("C", 1)
    order = built()
    client.force_login(somebody("maker", "maker"))
    client.post(reverse("bench:reopen", args=[order.pk]))
    done = client.post(reverse("bench:finish", args=[order.pk]), follow=True)
    assert done.status_code == 200
    assert order.instruments.get().serial in text(done)


def test_a_list_that_is_asked_for_one_order_has_it_ticked(owner):
    a_set("C", 2)
    first, second = set_aside(an_order("W-1"), an_order("W-2"))
    page = owner.get(reverse("bench:list"), {"state": "aside", "order": second.pk})
    ticked = re.findall(r'value="(\d+)" id="o\d+" checked', page.content.decode())
    assert ticked == [str(second.pk)]
    assert str(first.pk) in re.findall(r'name="order" value="(\d+)"', page.content.decode())


def test_a_built_order_goes_back_to_the_bench(owner):
    a_set("C", 1)
    order = built()
    owner.post(reverse("bench:reopen", args=[order.pk]))
    order.refresh_from_db()
    assert order.state == State.BENCH
    assert order.instruments.get().finished_at is None
    owner.post(reverse("bench:finish", args=[order.pk]))
    assert sound()


def test_loose_plates_are_picked_and_sent_without_an_instrument(owner):
    a_set("C", 1)
    order = on_the_bench(what="plates", kit="5 draw; 4 draw")
    page = text(owner.get(address("build", order)))
    assert "Loose plates" in page
    assert "Mark each plate" in page
    owner.post(reverse("bench:finish", args=[order.pk]))
    order.refresh_from_db()
    assert order.state == State.BUILT
    assert not order.instruments.exists()
    slip = read(owner.get(address("slip", order)))
    assert "5 draw: F5" in slip
    owner.post(reverse("bench:send", args=[order.pk]), {"tracking": ""})
    assert sound()


def read(answer):
    assert answer["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_cancelling_says_what_goes_where_and_then_does_it(owner):
    a_set("C", 2, cents=-20)
    order = on_the_bench()
    owner.post(address("fit", order, plate_of(order, "3 upper blow")))
    page = owner.get(address("cancel", order))
    assert "1 instrument is taken apart" in text(page)
    assert "1 plate from bin b1-C-3b was retuned: it goes into a bin that says G4." in text(page)
    assert "1 plate goes back into bin b1-C-5d" in text(page)
    silent = owner.post(address("cancel", order), {"because": "", "seen": order.version})
    assert silent.status_code == 422
    sent = {"because": "moved away", "seen": order.version}
    owner.post(address("cancel", order), sent)
    order.refresh_from_db()
    assert order.state == State.CANCELLED
    assert in_the_rack() == 40
    assert Bin.objects.get(code__startswith="b1-C-3b filed").millicents == 0
    assert sound()


def test_an_order_on_the_bench_is_taken_apart_and_waits_for_the_next_plan(owner):
    a_set("C", 2, cents=-20)
    order = on_the_bench()
    owner.post(address("fit", order, plate_of(order, "3 upper blow")))
    assert address("take-apart", order) in owner.get(address("build", order)).content.decode()
    page = text(owner.get(address("take-apart", order)))
    assert "1 plate from bin b1-C-3b was retuned: it goes into a bin that says G4." in page
    unseen = owner.post(address("take-apart", order), {"seen": order.version - 1})
    assert unseen.status_code == 422
    assert "changed by somebody else" in text(unseen)
    answer = owner.post(address("take-apart", order), {"seen": order.version}, follow=True)
    assert "Order W-1 is taken apart and waits for the next plan." in text(answer)
    order.refresh_from_db()
    assert (order.state, in_the_rack()) == (State.OPEN, 40)
    assert "only one on the bench is taken apart" in text(owner.get(address("take-apart", order)))
    assert sound()


def test_a_cancelled_order_that_was_looked_at_before_is_not_cancelled_unseen(owner):
    a_set("C", 1)
    order = on_the_bench()
    answer = owner.post(address("cancel", order), {"because": "x", "seen": order.version - 1})
    assert answer.status_code == 422
    assert "changed by somebody else" in text(answer)


def test_nothing_is_refused_with_a_traceback_after_an_order_has_left(owner):
    a_set("C", 2)
    order = built()
    owner.post(reverse("bench:send", args=[order.pk]), {"tracking": ""})
    taken = Taken.objects.filter(order=order).first()
    before = state()
    for page, method, _who in PAGES:
        sent = {"because": "x", "seen": 1, "pitch": "C4", "bin": "b1-C-1b", "text": "b1-C-1b"}
        answer = getattr(owner, method)(address(page, order, taken), sent | {"orders": order.pk})
        assert answer.status_code in (200, 302, 422), page
    assert state() == before
    assert sound()


def queries(client, where):
    client.get(where)  # the session and the person are known after it
    with CaptureQueriesContext(
        connection,
    ) as done:
        assert client.get(where).status_code == 200
    return len(done)


@pytest.mark.parametrize("page", ["list", "walk", "build", "seat", "send", "take-apart", "cancel"])
def test_how_many_queries_a_page_takes_does_not_depend_on_the_plates(owner, page):
    a_set("C", 20)
    few, many = an_order("W-1"), an_order("W-2", quantity=9, kit="5 draw; 4 draw")
    set_aside(few, many)
    owner.post(reverse("bench:begin"), {"order": [few.pk, many.pk]})
    assert queries(owner, address(page, few)) == queries(owner, address(page, many))


@pytest.mark.data
def test_how_many_queries_the_lists_and_the_walk_take_does_not_depend_on_the_orders(owner):
    for key in "CGDA":
        a_set(key, 3, batch=f"batch {key}")
    few = [an_order(f"W-{n}", key="CGDA"[n % 4]) for n in range(12)]
    set_aside(*few)
    everywhere = [f"{reverse('bench:list')}?state={s}" for s in ("aside", "picking", "bench")]
    walk = reverse("bench:walk")
    one = few[0].pk
    owner.post(reverse("bench:begin"), {"order": [one]})
    before = [queries(owner, where) for where in (everywhere[1], f"{walk}?orders={one}")]
    lists = queries(owner, everywhere[0])
    keys = [each.pk for each in few[:9]]
    owner.post(reverse("bench:begin"), {"order": keys})
    ten = f"{walk}?orders={','.join(map(str, keys))}"
    assert [queries(owner, where) for where in (everywhere[1], ten)] == before
    assert queries(owner, everywhere[0]) == lists
