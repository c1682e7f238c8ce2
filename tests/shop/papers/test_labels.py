from datetime import UTC, datetime, timedelta

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from django.urls import reverse
from django.utils import timezone

from combwright.shop.papers.models import Habit, LabelSize
from combwright.shop.people.roles import Role
from combwright.shop.rack import plate_actions
from combwright.shop.rack.actions import receive
from combwright.shop.rack.models import Batch, Bin, Entry
from shop.rack.shelves import a_bin, somebody

pytestmark = pytest.mark.django_db
ORIGIN = "http://192.168.1.20:8000"


def text(response):
    return " ".join(response.content.decode().split())


def held(pdf):
    """What the codes of a PDF hold, page by page."""
    found = []
    for page in pypdfium2.PdfDocument(pdf):
        picture = page.render(scale=200 / 72, grayscale=True).to_numpy()
        read = zxingcpp.read_barcodes(np.ascontiguousarray(picture.reshape(picture.shape[:2])))
        found.append(sorted(code.text for code in read))
    return found


def printed(client, **asked):
    query = {"origin": ORIGIN, "begin": "1", "what": "b", **asked}
    address = reverse("papers:print", query=query)
    return client.post(address)


@pytest.fixture
def rack():
    for code, batch, midi in [("A-1", "b1", 60), ("A-2", "b1", 62), ("B/3 ä", "b2", 64)]:
        a_bin(code, 2, batch=batch, midi=midi)
    Batch.objects.filter(code="b1").update(about="long lifting notch")


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({}, ["b/A-1", "b/A-2", "b/B%2F3%20%C3%A4"]),
        ({"text": "A-"}, ["b/A-1", "b/A-2"]),
        ({"batch": "b2"}, ["b/B%2F3%20%C3%A4"]),
        ({"codes": "B/3 ä\n A-1 \n\nA-1"}, ["b/A-1", "b/B%2F3%20%C3%A4"]),
        ({"what": "t"}, ["t/b1", "t/b2"]),
        ({"what": "t", "text": "notch"}, ["t/b1"]),
        ({"what": "t", "codes": "b2"}, ["t/b2"]),
    ],
)
def test_what_is_chosen_is_printed_and_leads_back_to_it(owner, rack, sheet, asked, found):
    answer = printed(owner, size=sheet.pk, **asked)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'attachment; filename="labels.pdf"'
    (codes,) = held(answer.content)
    assert codes == [f"{ORIGIN}/papers/s/{each}" for each in found]
    for code in codes:
        answer = owner.get(code.removeprefix(ORIGIN))
        assert answer.status_code == 302
        assert owner.get(answer["Location"]).status_code == 200


def test_the_labels_follow_the_list_that_was_picked_by_hand(owner, rack, sheet):
    page = owner.get(reverse("papers:labels"), {"what": "b", "codes": "A-2\nB/3 ä\nA-1"})
    assert [tag.code for tag in page.context["run"].tags] == ["A-2", "B/3 ä", "A-1"]


def test_a_picked_code_that_names_nothing_is_told_and_kept(owner, rack, sheet):
    answer = printed(owner, size=sheet.pk, codes="A-1\nA-9")
    assert answer.status_code == 422
    assert "called “A-9”; mend the list" in text(answer)
    assert "A-1 A-9" in text(answer)


def test_bins_changed_since_a_day_are_those_with_a_line_since(owner, rack, sheet):
    Entry.objects.update(made_at=datetime(2026, 5, 4, tzinfo=UTC))
    receive(somebody(), Bin.objects.get(code="A-2"), 1)
    asked = {"what": "b", "since": (timezone.localdate() - timedelta(days=1)).isoformat()}
    page = owner.get(reverse("papers:labels"), asked)
    assert [tag.code for tag in page.context["run"].tags] == ["A-2"]
    tomorrow = (timezone.localdate() + timedelta(days=1)).isoformat()
    page = owner.get(reverse("papers:labels"), {"what": "b", "since": tomorrow})
    assert page.context["run"].tags == []
    assert "Nothing is like that" in text(page)


def test_single_plates_are_printed_by_bin_and_by_day(owner, rack, sheet):
    made = plate_actions.label_plates(Bin.objects.get(code="A-1"), 2)
    gone = plate_actions.label_plates(Bin.objects.get(code="A-2"), 1)[0]
    plate_actions.scrap(somebody(), gone, "bent")
    codes = [f"{ORIGIN}/papers/s/p/{plate.code}" for plate in made]
    since = timezone.localdate().isoformat()
    answer = printed(owner, size=sheet.pk, what="p", text="A-", since=since)
    assert held(answer.content) == [codes]


def test_a_used_sheet_is_gone_on_with_and_the_page_says_how_many_it_takes(owner, rack, sheet):
    asked = {"what": "b", "size": sheet.pk, "begin": "23"}
    page = text(owner.get(reverse("papers:labels"), asked))
    assert "On 2 sheets of “a sheet of 24”." in page
    assert "The last sheet has 23 labels left." in page
    assert [len(codes) for codes in held(printed(owner, **asked).content)] == [2, 1]
    wrong = owner.get(reverse("papers:labels"), {**asked, "begin": "25"})
    assert "labels 1 to 24; it cannot begin at 25" in text(wrong)


def test_tiny_labels_hold_marks_and_the_page_says_so(owner, rack, roll):
    asked = {"what": "b", "size": roll.pk, "text": "A-", "origin": ORIGIN}
    assert "2 labels are too small for the shop&#x27;s address" in owner.get(
        reverse("papers:labels"), asked
    ).content.decode().replace("'", "&#x27;")
    assert held(printed(owner, **asked).content) == [["B:A-1"], ["B:A-2"]]


def test_a_name_that_no_tiny_label_shows_is_refused_by_name(owner, roll):
    a_bin("W" * 40)
    answer = printed(owner, size=roll.pk, origin="")
    assert answer.status_code == 422
    assert "take" in text(answer).lower()
    assert "12 x 12 mm" in text(answer)


def test_without_an_address_the_labels_hold_marks(owner, rack, sheet):
    codes = held(printed(owner, size=sheet.pk, origin="").content)
    assert codes == [["B:A-1", "B:A-2", "B:B/3 ä"]]


def test_address_and_size_are_remembered_by_printing_and_by_nothing_else(owner, rack, sheet, roll):
    owner.get(reverse("papers:labels"), {"what": "b", "size": roll.pk, "origin": "http://x.lan"})
    assert not Habit.objects.exists()
    printed(owner, size=roll.pk, text="A-", origin="https://shop.lan/")
    printed(owner, size=roll.pk, text="A-", origin="https://shop.lan/")
    habit = Habit.objects.get()
    assert (habit.origin, habit.size) == ("https://shop.lan", roll)
    form = owner.get(reverse("papers:labels")).context["form"]
    assert (form.initial["origin"], form.initial["size"]) == ("https://shop.lan", roll.pk)


@pytest.mark.parametrize(
    ("host", "offered"),
    [("192.168.1.20:8000", ORIGIN), ("localhost:8000", ""), ("127.0.0.1", ""), ("[::1]:80", "")],
)
def test_the_address_of_the_request_is_offered_unless_no_phone_could_reach_it(
    owner, sheet, settings, host, offered
):
    settings.ALLOWED_HOSTS = ["*"]
    page = owner.get(reverse("papers:labels"), headers={"host": host})
    assert page.context["form"].initial["origin"] == offered


@pytest.mark.parametrize(
    "wrong",
    ["shop.lan", "ftp://shop.lan", "http://a b", "http://x/y", "http://[", "http://x:99999"],
)
def test_an_address_that_is_none_is_told_and_kept(owner, rack, sheet, wrong):
    answer = printed(owner, size=sheet.pk, origin=wrong)
    assert answer.status_code == 422
    assert "is no address of a shop; give one such as" in text(answer)
    assert f'value="{wrong}"' in text(answer)


def test_too_many_labels_at_once_are_refused(owner, sheet):
    batch = a_bin("A-0").batch
    Bin.objects.bulk_create(
        Bin(code=f"Z-{n}", midi=60, slot_um=1, mount="front", batch=batch) for n in range(1000)
    )
    answer = printed(owner, size=sheet.pk)
    assert answer.status_code == 422
    assert "more than 1000 labels; choose a place, a batch or a day" in text(answer)


def test_the_page_asks_a_constant_number_of_questions(owner, sheet, django_assert_max_num_queries):
    counts = []
    for first in (0, 40):
        for n in range(first, first + 40):
            a_bin(f"A-{n}", 1, batch=f"b{n}")
        with django_assert_max_num_queries(12) as asked:
            owner.get(reverse("papers:labels"), {"what": "b", "size": sheet.pk})
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_a_page_without_any_size_says_what_to_do(owner):
    LabelSize.objects.all().delete()
    assert "There is no label size yet." in text(owner.get(reverse("papers:labels")))
    assert printed(owner, what="b").status_code == 422


def test_the_shipped_sizes_lie_on_their_paper_and_are_named_by_their_measures():
    shipped = list(LabelSize.objects.all())
    assert len(shipped) == 8
    for size in shipped:
        assert size.as_size().places()
        measures = f"{size.width_mm.normalize():f} x {size.height_mm.normalize():f} mm"
        assert size.title.startswith(measures)


GIVEN = {
    "title": "sticky ones", "kind": "sheet", "paper": "A4", "width_mm": "48.5", "height_mm": "25",
    "columns": "4", "rows": "11", "left_mm": "8", "top_mm": "11", "gap_x_mm": "0", "gap_y_mm": "0",
}  # fmt: skip


def test_a_size_is_made_changed_tried_and_removed(owner):
    owner.post(reverse("papers:size-new"), GIVEN)
    size = LabelSize.objects.get(title="sticky ones")
    assert size.as_size().width_mm == 48.5
    owner.post(reverse("papers:size", args=[size.pk]), {**GIVEN, "rows": "10"})
    size.refresh_from_db()
    assert size.rows == 10
    sheet = owner.get(reverse("papers:size-test", args=[size.pk]))
    assert sheet.content.startswith(b"%PDF")
    assert "sticky ones" in text(owner.get(reverse("papers:sizes")))
    owner.post(reverse("papers:size-remove", args=[size.pk]))
    assert not LabelSize.objects.filter(title="sticky ones").exists()


def test_a_size_that_does_not_fit_its_paper_is_told_in_one_line_and_kept(owner):
    answer = owner.post(reverse("papers:size-new"), {**GIVEN, "columns": "5"})
    assert answer.status_code == 422
    assert "5 columns of 48.5 mm" in text(answer)
    assert "A4 is 210 mm wide" in text(answer)
    assert 'value="48.5"' in text(answer)


def test_of_a_roll_only_the_label_counts(owner):
    given = {**GIVEN, "kind": "roll", "columns": "9", "left_mm": "300"}
    assert owner.post(reverse("papers:size-new"), given).status_code == 302
    assert LabelSize.objects.get(title="sticky ones").as_size().on_a_sheet == 1


def test_a_removed_size_is_no_longer_remembered(owner, rack, roll):
    printed(owner, size=roll.pk, text="A-")
    owner.post(reverse("papers:size-remove", args=[roll.pk]))
    assert Habit.objects.get().size is None
    assert owner.get(reverse("papers:labels")).status_code == 200


@pytest.mark.parametrize("role", list(Role))
def test_who_may_print_and_who_may_change_sizes(client, role, rack, sheet):
    client.force_login(somebody(role))
    assert client.get(reverse("papers:labels")).status_code == 200
    assert client.get(reverse("papers:sizes")).status_code == 200
    assert client.get(reverse("papers:size-test", args=[sheet.pk])).status_code == 200
    assert printed(client, size=sheet.pk).status_code == 200
    arranges = role in {"owner", "office", "packer"}
    pages = [reverse("papers:size-new"), reverse("papers:size", args=[sheet.pk])]
    for address in [*pages, reverse("papers:size-remove", args=[sheet.pk])]:
        assert (client.post(address).status_code != 403) == arranges


def test_looking_at_the_pages_changes_nothing(owner, rack, sheet):
    assert owner.get(reverse("papers:print"), {"what": "b"}).status_code == 405
    assert owner.get(reverse("papers:size-remove", args=[sheet.pk])).status_code == 405


@pytest.mark.data
def test_labels_and_sizes_are_kept_on_every_database(owner, rack, sheet):
    assert [len(codes) for codes in held(printed(owner, size=sheet.pk).content)] == [3]
    since = {"size": sheet.pk, "since": timezone.localdate().isoformat()}
    assert [len(codes) for codes in held(printed(owner, **since).content)] == [3]
    assert Habit.objects.get().size == sheet
