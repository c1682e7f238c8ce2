import io
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from random import Random

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connections
from django.test import Client
from django.urls import reverse

from combwright.files.rack import RACK_COLUMNS
from combwright.shop.people.roles import Role
from combwright.shop.rack import actions, import_actions, imports
from combwright.shop.rack.export_files import csv_parts, xlsx_parts
from combwright.shop.rack.import_forms import MOST_MIB
from combwright.shop.rack.models import Batch, Bin, Entry, Line, Upload
from combwright.shop.rack.queries import ledger_faults
from combwright.shop.rack.tables import TABLES
from shop.rack.shelves import a_bin, somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]
HEADER = "bin,pitch,cents,slot_mm,mount,batch,count,cost,cut,walk,held"


@pytest.fixture(autouse=True)
def the_ledger_adds_up(db):
    yield
    assert list(ledger_faults()) == []


@pytest.fixture
def owner(client):
    client.force_login(somebody("owner"))
    return client


def text(response):
    return " ".join(response.content.decode().split())


def csv(*rows, header=HEADER):
    return "\n".join((header, *rows)).encode() + b"\n"


def xlsx(*rows, header=HEADER):
    book = openpyxl.Workbook()
    for row in (header.split(","), *rows):
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def send(client, data, name="rack.csv", **more):
    given = {"file": SimpleUploadedFile(name, data), **more}
    return client.post(reverse("rack:imports"), given)


def looked_at(client, data, name="rack.csv", **more):
    """Send a sound file, and return its preview."""
    answer = send(client, data, name, **more)
    assert answer.status_code == 302, text(answer)
    return client.get(answer["Location"])


def book(client, page):
    seen = page.context["comparison"].fingerprint
    return client.post(page.request["PATH_INFO"], {"seen": seen})


def rack():
    return {
        each.code: (each.count, each.slot_um, each.millicents, each.mount, each.cost,
                    each.cut, each.walk, each.held)
        for each in Bin.objects.all()
    }  # fmt: skip


def test_the_preview_tells_new_changed_same_and_left_alone_bins_and_changes_nothing(owner):
    a_bin("A-1", 5)
    a_bin("A-2", 2)
    a_bin("A-3", 9)
    before, lines = rack(), Line.objects.count()
    page = looked_at(owner, csv(
        "A-1,C4,0,16.8,front,b1,7,2.20,,A-1,no",
        "A-2,C4,-1.5,16.8,front,b1,2,2.20,,A-2,no",
        "N-1,D4,,15,rear,new,4,,,,",
    ))  # fmt: skip
    shown = page.context["comparison"]
    told = [(d.said.code, d.before, d.said.count, dict(d.measures)) for d in shown.differences]
    assert told == [
        ("A-1", 5, 7, {}),
        ("A-2", 2, 2, {"millicents": (0, -1500)}),
        ("N-1", 0, 4, {}),
    ]
    assert (shown.same, shown.left_alone) == (0, 1)
    assert "measured offset: 0 cents, then -1.5 cents" in text(page)
    assert "1, left alone" in text(page)
    assert (rack(), Line.objects.count()) == (before, lines)


def test_a_file_is_booked_as_one_entry(owner):
    a_bin("A-1", 5)
    a_bin("A-2", 2)
    page = looked_at(owner, csv(
        "A-1,C4,0,16.8,front,b1,3,2.20,,A-1,no",
        "A-2,C4,-1.5,16,rear,,2,3.10,4,Z-9,yes",
        "N-1,D4,2,15,rear,new,4,1.5,3,Z-1,yes",
    ))  # fmt: skip
    assert book(owner, page).status_code == 302
    entry = Entry.objects.get(why=Entry.IMPORTED)
    changes = {line.bin.code: (line.change, line.after) for line in entry.lines.all()}
    assert changes == {"A-1": (-2, 3), "A-2": (0, 2), "N-1": (4, 4)}
    assert rack() == {
        "A-1": (3, 16_800, 0, "front", Decimal("2.20"), "", "A-1", False),
        "A-2": (2, 16_000, -1500, "rear", Decimal("3.10"), "4", "Z-9", True),
        "N-1": (4, 15_000, 2000, "rear", Decimal("1.50"), "3", "Z-1", True),
    }
    assert Bin.objects.get(code="N-1").batch.code == "new"
    assert f"entry {entry.pk}" in text(owner.get(page.request["PATH_INFO"]))


def test_every_error_is_shown_by_row_and_column_and_nothing_is_kept(owner):
    a_bin("A-1", 5)
    before = rack()
    answer = send(owner, csv(
        "A-1,H4,0,16.8,front,b1,7,2.20,,,no",
        "N-1,D4,0,long,front,b1,-4,2.20,,,no",
        "N-2,D4,0,12,middle,b1,4,2.20,,,perhaps",
    ))  # fmt: skip
    assert answer.status_code == 422
    for row, column in [(2, "pitch"), (3, "slot_mm"), (3, "count"), (4, "mount"), (4, "held")]:
        assert f"rack.csv, row {row}, column {column}: " in text(answer)
    assert len(answer.context["problems"]) == 5
    assert rack() == before
    assert not Upload.objects.exists()


def test_a_bin_holds_one_kind_so_another_note_or_batch_is_an_error(owner):
    a_bin("A-1", 5)
    answer = send(owner, csv(
        "N-1,D4,0,12,front,b1,4,2.20,,,",
        "A-1,D4,0,16.8,front,b9,5,2.20,,,",
    ))  # fmt: skip
    assert answer.context["problems"] == [
        "rack.csv, row 3, column pitch: bin A-1 holds C4, not D4; "
        "a bin holds one kind: name another bin.",
        "rack.csv, row 3, column batch: bin A-1 holds batch b1, not b9; name another bin.",
    ]


@pytest.mark.parametrize(
    ("row", "column", "said"),
    [
        ("N-1,D4,0,12,front,,4,2.20,,,", "batch", "is new and has no batch"),
        (f"{'N' * 41},D4,0,12,front,b1,4,2.20,,,", "bin", "40 characters are the most"),
        (f"N-1,D4,0,12,front,{'b' * 41},4,2.20,,,", "batch", "40 characters are the most"),
        (f"N-1,D4,0,12,front,b1,4,2.20,{'c' * 21},,", "cut", "20 characters are the most"),
        (f"N-1,D4,0,12,front,b1,4,2.20,,{'w' * 41},", "walk", "40 characters are the most"),
        ("N-1,D4,0,0.04,front,b1,4,2.20,,,", "slot_mm", "0.1 mm is the least"),
        ("N-1,D4,0,12,front,b1,4,2.205,,,", "cost", "write two decimals"),
        ("N-1,D4,0,12,front,b1,4,10000000,,,", "cost", "at most 9999999.99"),
    ],
)
def test_what_the_shop_cannot_keep_is_an_error_and_not_rounded_or_cut(owner, row, column, said):
    (problem,) = send(owner, csv(row)).context["problems"]
    assert problem.startswith(f"rack.csv, row 2, column {column}: ")
    assert said in problem


def test_a_column_that_the_file_lacks_leaves_its_measure_alone(owner):
    plates = a_bin("A-1", 5)
    Bin.objects.update(millicents=-2500, cut="4", held=True)
    header = "bin,pitch,slot_mm,mount,count"
    page = looked_at(owner, csv("A-1,C4,16.8,front,6", header=header))
    book(owner, page)
    plates.refresh_from_db()
    assert (plates.count, plates.millicents, plates.cut, plates.cost, plates.held) == (
        6, -2500, "4", Decimal("2.20"), True,
    )  # fmt: skip


def test_a_semicolon_file_with_decimal_commas_reads(owner):
    header = HEADER.replace(",", ";")
    page = looked_at(owner, csv("N-1;D4;-1,5;15,25;rear;new;4;1,80;;;", header=header))
    book(owner, page)
    assert rack()["N-1"][:5] == (4, 15_250, -1500, "rear", Decimal("1.80"))


def test_an_unclear_decimal_mark_is_asked_for_and_can_be_given(owner):
    data = csv('N-1,D4,0,"1,234",rear,new,4,1,,,')
    assert "can be read as 1.234 or as 1234" in text(send(owner, data))
    book(owner, looked_at(owner, data, decimal="comma"))
    assert rack()["N-1"][1] == 1_234


def test_a_workbook_reads(owner):
    row = ["N-1", "D4", -1.5, 15.25, "rear", "new", 4, 1.8, 3, "Z-1", "yes"]
    book(owner, looked_at(owner, xlsx(row), "rack.xlsx"))
    assert rack()["N-1"] == (4, 15_250, -1500, "rear", Decimal("1.80"), "3", "Z-1", True)


def test_a_formula_cell_is_refused_with_its_place(owner):
    row = ["N-1", "D4", 0, 15, "rear", "new", "=2+2", 1.8, "", "", ""]
    answer = send(owner, xlsx(row), "rack.xlsx")
    assert answer.context["problems"] == [
        "rack.xlsx, row 2, column count: a formula stands here; paste values instead."
    ]
    assert not Bin.objects.exists()


@pytest.mark.parametrize(("parts", "ending"), [(csv_parts, "csv"), (xlsx_parts, "xlsx")])
def test_an_exported_rack_changes_nothing(owner, parts, ending):
    a_bin("=1+1", 5)
    held = a_bin("A-2", 3, batch="b2").batch
    actions.hold(held, "rust")
    page = looked_at(owner, b"".join(parts(TABLES["rack"])), f"rack.{ending}")
    assert page.context["comparison"].differences == ()
    assert page.context["comparison"].same == 2
    assert "there is nothing to book" in text(page)
    assert book(owner, page).status_code == 409
    assert not Entry.objects.filter(why=Entry.IMPORTED).exists()


def test_two_clicks_book_once(owner):
    a_bin("A-1", 5)
    page = looked_at(owner, csv("A-1,C4,0,16.8,front,b1,7,2.20,,A-1,no"))
    book(owner, page)
    again = owner.post(
        page.request["PATH_INFO"], {"seen": page.context["comparison"].fingerprint}, follow=True
    )
    assert "This file was booked before" in text(again)
    assert Entry.objects.filter(why=Entry.IMPORTED).count() == 1
    assert rack()["A-1"][0] == 7


def test_a_rack_that_changed_since_the_preview_is_shown_again(owner):
    plates = a_bin("A-1", 5)
    page = looked_at(owner, csv("A-1,C4,0,16.8,front,b1,7,2.20,,A-1,no"))
    actions.scrap(somebody(), plates, 1, note="bent")
    answer = book(owner, page)
    assert answer.status_code == 409
    assert "The rack has changed since you looked at this import" in text(answer)
    assert answer.context["comparison"].differences[0].before == 4
    assert rack()["A-1"][0] == 4
    assert book(owner, answer).status_code == 302
    assert rack()["A-1"][0] == 7


def test_another_bins_change_does_not_stop_an_import(owner):
    a_bin("A-1", 5)
    other = a_bin("A-2", 5)
    page = looked_at(owner, csv("A-1,C4,0,16.8,front,b1,7,2.20,,A-1,no"))
    actions.scrap(somebody(), other, 1, note="bent")
    assert book(owner, page).status_code == 302


def test_a_bin_made_in_between_with_other_plates_shows_the_error(owner):
    page = looked_at(owner, csv("N-1,D4,0,12,front,b1,4,2.20,,,"))
    a_bin("N-1", 3)
    answer = book(owner, page)
    assert answer.status_code == 422
    assert "bin N-1 holds C4, not D4" in text(answer)
    assert rack()["N-1"][0] == 3


def booked(owner, *rows):
    page = looked_at(owner, csv(*rows))
    assert book(owner, page).status_code == 302
    return Upload.objects.order_by("pk").last()


def take_back(owner, upload):
    return owner.post(
        reverse("rack:import-back", args=[upload.pk]), {"note": "wrong file"}, follow=True
    )


def test_an_import_is_taken_back_in_one_step_with_its_measures(owner):
    a_bin("A-1", 5)
    a_bin("A-2", 2)
    before = rack()
    upload = booked(
        owner,
        "A-1,C4,0,16.8,front,b1,3,2.20,,A-1,no",
        "A-2,C4,-1.5,16,rear,b1,2,3.10,4,Z-9,yes",
        "N-1,D4,0,15,rear,new,4,,,,",
    )
    assert "New bins stay" in text(owner.get(reverse("rack:import-back", args=[upload.pk])))
    answer = take_back(owner, upload)
    assert f"Import {upload.pk} is taken back" in text(answer)
    after = rack()
    assert after.pop("N-1")[0] == 0
    assert after == before
    undone = upload.entry.corrections.get()
    assert (undone.why, undone.note) == (Entry.CORRECTED, "wrong file")
    assert "This import was taken back before" in text(take_back(owner, upload))


def test_a_measure_changed_again_since_stays(owner):
    a_bin("A-1", 5)
    first = booked(owner, "A-1,C4,1,16,front,b1,6,2.20,,A-1,no")
    booked(owner, "A-1,C4,2,16,front,b1,6,2.20,,A-1,no")
    answer = take_back(owner, first)
    assert "left as they are: bins A-1" in text(answer)
    assert rack()["A-1"][:3] == (5, 16_800, 2000)


def test_measures_follow_when_the_entrys_own_page_took_the_counts_back(owner):
    a_bin("A-1", 5)
    before = rack()
    upload = booked(owner, "A-1,C4,1,16,front,b1,6,2.20,,A-1,no")
    owner.post(reverse("rack:entry", args=[upload.entry_id]), {"note": "wrong"})
    page = owner.get(reverse("rack:import", args=[upload.pk]))
    assert "Put the earlier measures back" in text(page)
    take_back(owner, upload)
    assert rack() == before
    assert upload.entry.corrections.count() == 1


def test_plates_that_are_gone_keep_an_import_from_being_taken_back_at_all(owner):
    plates = a_bin("A-1", 5)
    upload = booked(owner, "A-1,C4,1,16,front,b1,9,2.20,,A-1,no")
    actions.scrap(somebody(), plates, 7, note="bent")
    before = rack()
    answer = take_back(owner, upload)
    assert answer.status_code == 422
    assert "holds 2 plates; 4 cannot be taken" in text(answer)
    assert rack() == before
    assert not upload.entry.corrections.exists()


@pytest.mark.parametrize("role", list(Role))
def test_only_owner_and_office_import(client, role):
    a_bin("A-1", 5)
    data = csv("A-1,C4,0,16.8,front,b1,7,2.20,,A-1,no")
    upload = import_actions.keep(somebody(), "rack.csv", data)
    seen = imports.compare(
        import_actions.contents_of(upload), import_actions.rack_by_code()
    ).fingerprint
    client.force_login(somebody(role))
    one, back = (reverse(f"rack:{name}", args=[upload.pk]) for name in ("import", "import-back"))
    may = role in {"owner", "office"}
    answers = [
        client.get(reverse("rack:imports")),
        send(client, data),
        client.get(one),
        client.post(one, {"seen": seen}),
    ]
    assert [answer.status_code != 403 for answer in answers] == [may] * 4
    assert rack()["A-1"][0] == (7 if may else 5)
    if not may:
        import_actions.book(somebody(), upload, seen)
    taken = [client.get(back), client.post(back, {"note": "x"})]
    assert [answer.status_code != 403 for answer in taken] == [may] * 2
    assert rack()["A-1"][0] == (5 if may else 7)


def test_a_form_from_elsewhere_is_refused():
    client = Client(enforce_csrf_checks=True)
    client.force_login(somebody())
    assert send(client, csv("N-1,D4,0,12,front,b1,4,2.20,,,")).status_code == 403


@pytest.mark.parametrize("given", [{}, {"file": ""}, {"file": SimpleUploadedFile("a.csv", b"")}])
def test_no_file_or_an_empty_one_is_said(owner, given):
    answer = owner.post(reverse("rack:imports"), given)
    assert answer.status_code == 422
    assert "Not done yet. Please mend this" in text(answer)


def test_a_file_that_is_too_large_is_said(owner):
    answer = send(owner, b"x" * (MOST_MIB * 2**20 + 1))
    assert answer.status_code == 422
    assert "The file has 16.0 MiB; the most is 16 MiB" in text(answer)


def test_too_many_bins_are_refused_before_they_are_compared(owner, monkeypatch):
    monkeypatch.setattr(imports, "MOST_BINS", 2)
    rows = [f"N-{n},D4,0,12,front,b1,4,2.20,,," for n in range(3)]
    assert "names 3 bins; import at most 2 at once" in text(send(owner, csv(*rows)))


def test_an_import_asks_no_question_for_every_bin(owner, django_assert_max_num_queries):
    def rows(first, last):
        return csv(*(f"N-{n},D4,0,12,front,b{n},4,2.20,,," for n in range(first, last)))

    small, large = looked_at(owner, rows(0, 3)), looked_at(owner, rows(3, 90))
    with django_assert_max_num_queries(30) as few:
        book(owner, small)
    with django_assert_max_num_queries(30) as many:
        book(owner, large)
    assert Bin.objects.count() == 90
    # SQLite takes about a thousand values in one question, so 87 bins come in two.
    assert len(many) <= len(few) + 2


@pytest.mark.parametrize(
    "given",
    ["", ".csv", "..", "a" * 400 + ".xlsx", "🎵" * 100 + ".csv", "a/b\\c.csv", "x\ud800.csv", "."],
)
def test_a_files_name_fits_a_line_and_a_file_system(given):
    name = imports.file_name(given)
    assert 0 < len(name) <= 60
    assert len(name.encode()) <= 255
    assert not set(name) & set("/\\\0\n")
    assert name not in {".", ".."}
    if given.endswith("a.xlsx"):
        assert name.endswith(".xlsx")


def test_200_files_of_random_bytes_are_answered_and_change_nothing(owner):
    dice = Random(20_311)
    a_bin("A-1", 5)
    good = [csv("A-1,C4,0,16.8,front,b1,7,2.20,,A-1,no"),
            xlsx(["A-1", "C4", 0, 16.8, "front", "b1", 7, 2.2, "", "A-1", "no"])]  # fmt: skip
    words = [*(column.name for column in RACK_COLUMNS), "A-1", "C4", "front", "=1", '"', ",", ";",
             "\n", "-1", "1e999", "nan", "\0", "\u202e", "💥", "yes", "9" * 400]  # fmt: skip
    before, seen = rack(), set()
    for n in range(200):
        kind = n % 4
        if kind == 0:
            data = dice.randbytes(dice.randrange(1, 400))
        elif kind == 1:
            data = bytearray(good[dice.randrange(2)])
            for _ in range(dice.randrange(1, 9)):
                data[dice.randrange(len(data))] = dice.randrange(256)
        elif kind == 2:
            data = "".join(dice.choices(words, k=60)).encode()
        else:
            data = csv(",".join(dice.choices(words, k=11)), ",".join(dice.choices(words, k=11)))
        answer = send(owner, bytes(data), dice.choice(["rack.csv", "rack.xlsx", "rack", "🎵.xls"]))
        seen.add(answer.status_code)
        if answer.status_code == 302:
            assert owner.get(answer["Location"]).status_code == 200
    assert seen <= {302, 422}
    assert 422 in seen
    assert rack() == before


def test_old_uploads_that_nobody_booked_are_thrown_away(owner):
    looked_at(owner, csv("N-1,D4,0,12,front,b1,4,2.20,,,"))
    kept = booked(owner, "N-2,D4,0,12,front,b1,4,2.20,,,")
    Upload.objects.update(made_at="2031-01-01T00:00:00Z")
    Upload.objects.filter(entry=None).update(made_at="2001-01-01T00:00:00Z")
    looked_at(owner, csv("N-3,D4,0,12,front,b1,4,2.20,,,"))
    assert Upload.objects.count() == 2
    assert Upload.objects.filter(pk=kept.pk).exists()


@pytest.mark.django_db(transaction=True)
def test_of_many_who_book_one_file_at_once_only_one_does():
    a_bin("A-1", 5)
    data = csv("A-1,C4,0,16.8,front,b1,7,2.20,,A-1,no", "N-1,D4,0,12,front,b9,4,2.20,,,")
    person = somebody()
    uploads = [import_actions.keep(person, "rack.csv", data) for _ in range(2)]
    seen = imports.compare(
        import_actions.contents_of(uploads[0]), import_actions.rack_by_code()
    ).fingerprint

    def one_hand(n):
        try:
            import_actions.book(person, uploads[n % 2], seen)
        except (import_actions.BookedBefore, import_actions.RackChanged):
            return 0
        else:
            return 1
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as pool:
        done = sum(pool.map(one_hand, range(8)))
    # Two uploads of one file: once the first is booked, the second would change nothing.
    assert done == 1
    assert {code: each[0] for code, each in rack().items()} == {"A-1": 7, "N-1": 4}
    assert Entry.objects.filter(why=Entry.IMPORTED).count() == 1
    assert Batch.objects.filter(code="b9").count() == 1
