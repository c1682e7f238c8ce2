import html
import re

import pytest
from django.test import Client
from django.urls import reverse

from combwright.inspection.plans import plan_for
from combwright.shop.arrivals import urls
from combwright.shop.arrivals.models import Draw, Inspection, Reading
from combwright.shop.people.roles import TABLE, May, Role
from combwright.shop.rack.models import Batch, Bin
from shop.arrivals.samples import a_batch, a_sample, measure
from shop.rack.shelves import a_bin, somebody

pytestmark = pytest.mark.django_db
EVERYONE, INSPECTING = TABLE[May.LOOK], TABLE[May.INSPECT]
ASKED = {
    "lot": 240, "tolerance": "10", "way": "computed", "good": "2", "bad": "15", "producer": "5",
    "consumer": "10", "share": "2.5", "note": "",
}  # fmt: skip
#: Page, method, what is sent, who may.
PAGES = [
    ("list", "get", {}, EVERYONE),
    ("one", "get", {}, EVERYONE),
    ("start", "get", {}, INSPECTING),
    ("start", "post", ASKED, INSPECTING),
    ("read", "post", {"cents": "1", "what": "sharp"}, INSPECTING),
    ("strike", "post", {}, INSPECTING),
    ("give-up", "post", {}, INSPECTING),
    ("offsets", "post", {}, INSPECTING),
]


def address(page, made):
    if page == "list":
        return reverse("arrivals:list")
    return reverse(f"arrivals:{page}", args=["b1" if page == "start" else made.pk])


def text(response):
    bare = re.sub(r"<[^>]*>", " ", response.content.decode())
    return " ".join(html.unescape(bare).split())


def state():
    return [list(m.objects.order_by("pk").values()) for m in (Inspection, Draw, Reading, Bin)]


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


@pytest.fixture
def made():
    return a_sample(a_batch(12, 12))


def read(client, made, cents, what):
    key = made.draws.first().bin_id
    sent = {"cents": cents, "what": what, "bin": key}
    return client.post(address("read", made), sent)


def test_no_page_is_missing_from_the_table():
    assert {page for page, *_ in PAGES} == {each.name for each in urls.urlpatterns}


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize(("page", "method", "sent", "who"), PAGES)
def test_each_role_sees_its_pages_and_no_others(client, made, role, page, method, sent, who):
    client.force_login(somebody(role))
    before = state()
    answer = getattr(client, method)(address(page, made), sent)
    if role in who:
        assert answer.status_code in (200, 302, 404, 409, 422)
    else:
        assert answer.status_code == 403
        assert state() == before


@pytest.mark.parametrize(("page", "method", "sent", "who"), PAGES)
def test_nobody_gets_in_without_logging_in(client, made, page, method, sent, who):
    answer = getattr(client, method)(address(page, made), sent)
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/people/login/")


@pytest.mark.parametrize("page", ["list", "one", "start"])
def test_looking_changes_nothing(maker, made, page):
    before = state()
    maker.get(address(page, made), ASKED if page == "start" else {})
    assert state() == before


@pytest.mark.parametrize("page", ["read", "strike", "give-up", "offsets"])
def test_what_changes_something_is_never_done_by_a_link(maker, made, page):
    assert maker.get(address(page, made)).status_code == 405


@pytest.mark.parametrize(("page", "method", "sent", "who"), [p for p in PAGES if p[1] == "post"])
def test_a_form_from_elsewhere_is_refused(made, page, method, sent, who):
    client = Client(enforce_csrf_checks=True)
    client.force_login(somebody("maker"))
    before = state()
    assert client.post(address(page, made), sent).status_code == 403
    assert state() == before


def test_a_plan_is_shown_with_its_chances_before_anything_is_drawn(maker):
    a_batch(120, 120)
    page = maker.get(reverse("arrivals:start", args=["b1"]))
    assert page.context["form"].initial["lot"] == 240
    shown = maker.get(reverse("arrivals:start", args=["b1"]), ASKED)
    plan = plan_for(240, 0.02, 0.15)
    assert f"Measure {plan.sample} of 240 plates and accept with at most {plan.accept}" in text(
        shown
    )
    assert f"With 2 % bad plates it is accepted in {100 * plan.chance(4):.1f} of 100" in text(shown)
    assert f"still accepted in {100 * plan.chance(36):.1f} of 100" in text(shown)
    assert '<svg class="curve"' in shown.content.decode()
    assert not Inspection.objects.exists()
    drawn = maker.post(reverse("arrivals:start", args=["b1"]), ASKED, follow=True)
    made = Inspection.objects.get()
    assert (made.sample, made.accept) == (plan.sample, plan.accept)
    assert "Which plates, along the walk" in text(drawn)


def test_a_plan_of_the_published_table_says_its_letter(maker):
    a_batch(240)
    shown = maker.get(reverse("arrivals:start", args=["b1"]), {**ASKED, "way": "letter"})
    # MIL-STD-105E: 151 to 280 plates, letter G, 32 plates, 2 allowed at 2.5 %.
    assert "Measure 32 of 240 plates and accept with at most 2" in text(shown)
    assert "Letter G of the table" in text(shown)
    maker.post(reverse("arrivals:start", args=["b1"]), {**ASKED, "way": "letter"})
    assert (Inspection.objects.get().letter, Inspection.objects.get().bad_percent) == ("G", None)


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"lot": 0}, "greater than or equal to 1"),
        ({"good": "20"}, "cannot be told apart"),
        ({"bad": "101"}, "less than or equal to 100"),
        ({"consumer": "0"}, "A risk of 0 %"),
        ({"lot": 5000}, "but the bins hold 20"),
        ({"lot": 1, "way": "letter"}, "begins with 2 plates"),
        ({"tolerance": "x"}, "Enter a number"),
    ],
)
def test_a_plan_that_cannot_be_is_told_and_what_was_typed_is_kept(maker, wrong, why):
    a_batch(20)
    answer = maker.post(reverse("arrivals:start", args=["b1"]), {**ASKED, "lot": 20, **wrong})
    assert answer.status_code == 422
    assert why in text(answer)
    (name, value) = next(iter(wrong.items()))
    assert f'name="{name}" value="{value}"' in answer.content.decode()
    assert not Inspection.objects.exists()


@pytest.mark.parametrize(
    ("cents", "what", "millicents"),
    [
        ("3.5", "sharp", 3500), ("3.5", "flat", -3500), ("-3.5", "flat", -3500),
        ("-3.5", "sharp", -3500), ("\u22123.5", "sharp", -3500), ("0", "flat", 0),
        ("", "broken", None), ("abc", "broken", None),
    ],
)  # fmt: skip
def test_the_sign_is_a_button_and_a_typed_minus_is_taken_too(maker, made, cents, what, millicents):
    assert read(maker, made, cents, what).status_code == 302
    reading = Reading.objects.get()
    assert (reading.millicents, reading.broken) == (millicents, millicents is None)


@pytest.mark.parametrize(
    ("cents", "why"),
    [("", "Type how many cents"), ("abc", "Enter a number"), ("700", "less than or equal to 600")],
)
def test_a_wrong_reading_is_told_and_kept(maker, made, cents, why):
    answer = read(maker, made, cents, "sharp")
    assert answer.status_code == 422
    assert why in text(answer)
    assert not cents or f'value="{cents}"' in answer.content.decode()
    assert not Reading.objects.exists()


def test_a_bin_measured_to_its_end_says_so(maker, made):
    first = made.draws.first()
    for _ in range(first.plates):
        read(maker, made, "1", "sharp")
    answer = read(maker, made, "1", "sharp")
    assert answer.status_code == 422
    assert "plates that the sample takes of bin b1-1 are measured" in text(answer)


def test_a_refused_batch_says_so_on_its_pages(maker, made):
    measure(made, None, None)
    assert "Refused: 2 bad of 2 measured, and 1 were allowed" in text(
        maker.get(address("one", made))
    )
    assert "2 bad of 2 measured" in text(maker.get(reverse("rack:batch", args=["b1"])))
    assert Batch.objects.get().held
    assert "This sample is closed" in text(maker.post(address("give-up", made), follow=True))


def test_means_are_offered_and_taken_over(maker, made):
    measure(made, 3, 5, 4, 4, 4)
    page = maker.get(address("one", made))
    assert "Take the ticked means over" in text(page)
    keys = list(made.draws.values_list("bin_id", flat=True))
    page = maker.post(address("offsets", made), {"bin": keys}, follow=True)
    assert "was 0.0, now" in text(page)
    refused = maker.post(address("offsets", made), {"bin": keys})
    assert refused.status_code == 409
    assert "none that has one is ticked" in text(refused)


def test_a_mistyped_reading_is_struck_out(maker, made):
    read(maker, made, "500", "sharp")
    key = Reading.objects.get().pk
    page = maker.post(address("strike", made), {"reading": key}, follow=True)
    assert "struck out by Maker" in text(page)
    assert maker.post(address("strike", made), {"reading": "x"}).status_code == 404


@pytest.mark.parametrize("page", ["list", "one", "start"])
def test_pages_ask_a_constant_number_of_questions(maker, page, django_assert_max_num_queries):
    small = a_sample(a_batch(6, 6, code="b0"))
    a_batch(6, 6)
    with django_assert_max_num_queries(10) as few:
        maker.get(address(page, small))
    for n in range(3, 43):
        a_bin(f"b1-{n}", 5, batch="b1")
    large = a_sample(Batch.objects.get(code="b1"), lot=200, sample=100, accept=9)
    measure(large, *[1] * 50)
    with django_assert_max_num_queries(10) as many:
        maker.get(address(page, large))
    assert len(few) == len(many)
