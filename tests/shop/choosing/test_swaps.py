"""The best reeds to swap are searched for by a job; the answer shows sets, plates and the proof."""

import pytest
from django.urls import reverse

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.changes import apply_changes, parse_changes
from combwright.notes.keys import parse_key
from combwright.shop.choosing import swapping
from combwright.shop.choosing.bases import base_of
from combwright.shop.choosing.models import Answer
from combwright.shop.designs.models import Design
from combwright.shop.jobs.models import Job
from combwright.shop.orders.models import Wish
from shop.choosing.repertoires import (
    LONG,
    a_customer,
    a_repertoire,
    an_instrument,
    ask_swaps,
    somebody,
    swaps_asked,
    work_off,
    work_out,
)
from shop.people.persons import text
from shop.rack.shelves import a_bin

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client):
    client.force_login(somebody("office"))
    return client


def swaps_page(repertoire):
    return reverse("choosing:swaps", args=[repertoire.pk])


def sent(**more):
    usual = {"base": "standard", "key": "C", "most": "1", "by": "2", "player": "intermediate",
             "kit": "", "comb": ""}  # fmt: skip
    return usual | more


def test_the_best_swap_is_found_proven_and_made_into_a_wish_in_its_key(office):
    tunes = a_repertoire(customer=a_customer())
    begun = office.post(swaps_page(tunes), sent(key="D"))
    assert begun.status_code == 302
    job = work_out()
    assert job.state == Job.DONE
    assert job.result["words"] == "best: 3 blow=B4"
    kept = Answer.objects.get()
    # The third blow of a standard layout in D, raised from A4 to B4: nothing of it need be bent.
    assert kept.said["rounds"][0]["best"][0]["cost"] < kept.said["base"]["cost"]
    page = text(office.get(begun.url))
    assert "Best: 3 blow=B4." in page
    assert "Standard in D" in page
    assert "Proven: there are 80 such sets." in page
    assert "100.0 % 0.00 0 1 0 lost: A#4 bent, now overbent gained: B4 natural, was bent" in page
    assert "What the first changes elsewhere" in page
    made = office.post(reverse("choosing:wish", args=[kept.pk]), {"order": "new", "row": "0"})
    wish = Wish.objects.get()
    assert made.url == reverse("orders:wish", args=[wish.pk])
    assert (wish.layout, wish.key, wish.changes) == ("standard", "D", "3 blow=B4")
    assert wish.order.customer == tunes.customer


def test_an_own_instruments_wish_holds_its_changes_and_the_new_ones():
    who = a_customer()
    one = an_instrument(who, key="A", changes="5 draw=D#5")
    tunes = a_repertoire(customer=who)
    base = base_of(tunes, {"serial": one.serial})
    space = swapping.space_of(base, swaps_asked(serial=one.serial))
    swap = next(s for found in space.swaps for s in found if s.text == "3 blow=F#4")
    wanted = swapping.with_swaps(base.sounding, [swap])
    changes = swapping.changes_between(base.plain, wanted)
    assert changes == "3 blow=F#4; 5 draw=D#5"
    plain = catalogue_layout("standard").in_key(parse_key("A"))
    assert apply_changes(plain, parse_changes(changes)).seats == wanted.seats


def test_with_the_rack_only_free_plates_that_fit_are_swapped_in():
    tunes = a_repertoire()
    free = a_bin("A-1", 2, midi=69, slot_um=9_000)
    held = a_bin("A-2", 2, midi=71, slot_um=9_000)
    held.held = True
    held.save()
    claimed = a_bin("A-3", 1, midi=74, slot_um=9_000)
    claimed.aside = 1
    claimed.save()
    asked = swaps_asked(rack=True)
    space = swapping.space_of(base_of(tunes, asked), asked)
    notes = {swap.midi for found in space.swaps for swap in found}
    # A plate of 69 becomes 70 by filing: up to 150 cents up and 80 down, as the workshop does.
    assert notes <= {69, 70}
    assert 69 in notes
    assert {plates.name for plates in space.stock.plates} == {free.code, claimed.code, held.code}


def test_with_a_kit_only_its_plates_are_swapped_in_and_the_page_names_them(office):
    tunes = a_repertoire(tunes=[("Ladder", LONG)])
    begun = office.post(swaps_page(tunes), sent(kit="3 blow=A4"))
    work_out()
    page = text(office.get(begun.url))
    assert "3 blow=A4: the kit's 3 blow=A4" in page
    assert "of the kit 3 blow=A4" in page
    assert office.post(swaps_page(tunes), sent(rack="on", most="2")).status_code == 302
    work_out()
    assert "there are no plates for any swap" in text(office.get(swaps_page(tunes)))
    empty = Answer.objects.first()
    page = text(office.get(reverse("choosing:one", args=[empty.pk])))
    assert page.count("There is no such set that there are plates for.") == 2


@pytest.mark.parametrize(
    ("wrong", "line"),
    [
        ({"key": "H"}, "'H' is no key"),
        ({"key": ""}, "Key: This field is required"),
        ({"most": "5"}, "Most reeds swapped: "),
        ({"by": "0"}, "By how many semitones at most: "),
        ({"base": "odd"}, "Reeds are swapped in: "),
        ({"base": "own:00007"}, "Reeds are swapped in: "),
        ({"kit": "5 draw=H5"}, "Only what this kit holds: "),
        ({"kit": "12 draw=A4"}, "Only what this kit holds: "),
        ({"player": "me"}, "Who plays: "),
    ],
)
def test_what_cannot_be_asked_is_said_at_its_field_and_nothing_begins(office, wrong, line):
    answer = office.post(swaps_page(a_repertoire()), sent(**wrong))
    assert answer.status_code == 422
    assert line in text(answer)
    assert not Answer.objects.exists()


def test_a_base_with_more_holes_than_the_comb_is_refused_only_where_plates_must_fit(office):
    blow = ", ".join(['"C4"'] * 12)
    toml = f'title = "Twelve"\nblow = [{blow}]\ndraw = [{blow.replace("C4", "D4")}]\n'
    Design.objects.create(
        kind=Design.LAYOUT, code="twelve", title="Twelve", title_key="twelve", toml=toml,
        changed_by=somebody(),
    )  # fmt: skip
    tunes = a_repertoire()
    refused = office.post(swaps_page(tunes), sent(base="twelve", rack="on"))
    assert "Twelve has a reed in hole 11 and the comb has 10 holes" in text(refused)
    assert office.post(swaps_page(tunes), sent(base="twelve")).status_code == 302


def test_a_search_that_is_stopped_ends_at_its_next_step(office, monkeypatch):
    answer = ask_swaps(a_repertoire(), person=somebody("office"))
    asked = []

    def search(space, arrays, costs, *, most, threads, progress):
        office.post(reverse("choosing:stop", args=[answer.pk]))
        Job.objects.filter(pk=answer.job_id).update(lease_until=None, token=None, state="stopped")
        progress(1, 40, 80)
        asked.append(most)

    monkeypatch.setattr(swapping, "search", search)
    assert work_off().state == Job.STOPPED
    answer.refresh_from_db()
    assert answer.said is None


def test_progress_counts_the_sets_of_all_sizes():
    told = []
    space = swapping.space_of(base_of(a_repertoire(), swaps_asked()), swaps_asked())
    heard = swapping.heard(space, 2, lambda *said: told.append(said))
    heard(0, 1, 1)
    heard(1, 80, 80)
    heard(2, 1000, 3040)
    assert told == [
        (1, 3121, "sets of 0: 1 of 1"),
        (81, 3121, "sets of 1: 80 of 80"),
        (1081, 3121, "sets of 2: 1,000 of 3,040"),
    ]
