from dataclasses import replace
from pathlib import Path

import pytest

from combwright.allocation.workshop import LabelSheet, Workshop
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.from_plan import sheets_of
from combwright.sheets.writing import file_names, write_sheets
from sheets.examples import COMB, plan_of, served, standard_wants, stock_of, texts, waiting

NAMES = [
    "a/b",
    "a\\b",
    "..",
    ".",
    "",
    "  ",
    "a b",
    "A/B",
    "Ünal №5",
    "x" * 400,
    "日" * 200,
    "con",
    "a\x00b",
]


def write(folder, *orders, workshop=None, **options):
    workshop = workshop or Workshop()
    plan, stock = plan_of(*orders), stock_of(*(order for order in orders if order.ready))
    return write_sheets(plan, stock, COMB, workshop, folder, **options)


def few(name="W-1", **options):
    return served(name, wants=standard_wants()[:2], **options)


def order_sheets(names):
    (sheet,) = sheets_of(plan_of(few()), stock_of(few()), COMB).orders
    return [replace(sheet, order=name) for name in names]


def test_all_sheets_of_a_plan_are_written(tmp_path):
    folder = tmp_path / "new" / "sheets"
    written = write(folder, few("W-1"), waiting("W-2"), few("W/3"))
    assert [path.name for path in written] == [
        "pick-list.pdf",
        "build-W-1.pdf",
        "build-W-3.pdf",
        "bin-labels.pdf",
        "order-labels.pdf",
    ]
    assert sorted(path.name for path in folder.iterdir()) == sorted(p.name for p in written)
    assert "W/3" in texts((folder / "build-W-3.pdf").read_bytes())[0]


def test_file_names_are_safe_and_all_different():
    names = file_names(order_sheets(NAMES))
    assert len({name.casefold() for name in names}) == len(NAMES)
    for name in names:
        assert Path(name).name == name
        assert not set(name) & set('/\\:*?"<>|\x00')
        assert name.startswith("build-")
        assert name.endswith(".pdf")
        assert len(name.encode()) < 150


def test_a_plain_order_keeps_its_name():
    assert file_names(order_sheets(["W-017", "Größe_7"])) == (
        "build-W-017.pdf",
        "build-Größe_7.pdf",
    )


def test_names_that_would_fall_together_are_numbered_even_against_a_plain_one():
    names = file_names(order_sheets(["a/b", "a b", "A-B", "a-b-2"]))
    assert names == ("build-a-b.pdf", "build-a-b-2.pdf", "build-A-B-3.pdf", "build-a-b-2-2.pdf")


def test_the_copies_of_an_order_in_parts_get_files_of_their_own(tmp_path):
    written = write(tmp_path, few(split=True, row=1), few(split=True, row=2))
    assert [path.name for path in written[1:3]] == ["build-W-1-1-1.pdf", "build-W-1-2-1.pdf"]


def test_a_file_of_the_same_name_is_replaced_and_others_stay(tmp_path):
    (tmp_path / "pick-list.pdf").write_text("old")
    (tmp_path / "notes.txt").write_text("mine")
    write(tmp_path, few())
    assert (tmp_path / "pick-list.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "notes.txt").read_text() == "mine"


def test_nothing_is_written_when_one_sheet_cannot_be_made(tmp_path):
    (tmp_path / "pick-list.pdf").write_text("old")
    with pytest.raises(BadSheet, match="90 rows of labels do not fit"):
        write(tmp_path, few(), workshop=Workshop(labels=LabelSheet(rows=90)))
    assert [path.name for path in tmp_path.iterdir()] == ["pick-list.pdf"]
    assert (tmp_path / "pick-list.pdf").read_text() == "old"


def test_a_run_that_is_stopped_leaves_nothing_behind(tmp_path):
    def stop(_what, share):
        if share > 0.3:
            raise KeyboardInterrupt

    folder = tmp_path / "sheets"
    with pytest.raises(KeyboardInterrupt):
        write(folder, few("W-1"), few("W-2"), progress=stop)
    assert not folder.exists()


def test_a_folder_that_is_a_file_is_refused(tmp_path):
    file = tmp_path / "sheets"
    file.write_text("mine")
    with pytest.raises(BadSheet, match="is a file; name a folder"):
        write(file, few())
    with pytest.raises(BadSheet, match="cannot be written to"):
        write(file / "below", few())
    assert file.read_text() == "mine"


def test_a_folder_that_cannot_be_written_to_is_refused(tmp_path, monkeypatch):
    # The tests may run as root, whom no permission stops.
    def refuse(*_args, **_options):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("tempfile.mkdtemp", refuse)
    with pytest.raises(BadSheet, match=r"cannot be written to .* \(Permission denied\)"):
        write(tmp_path / "sheets", few())
    assert not (tmp_path / "sheets").exists()


def test_a_folder_in_the_way_of_a_sheet_is_refused_before_anything_moves(tmp_path):
    (tmp_path / "order-labels.pdf").mkdir()
    with pytest.raises(BadSheet, match=r"'order-labels\.pdf' is a folder"):
        write(tmp_path, few())
    assert [path.name for path in tmp_path.iterdir()] == ["order-labels.pdf"]


def test_progress_rises_to_the_whole(tmp_path):
    told = []
    write(tmp_path, few("W-1"), few("W-2"), progress=lambda what, share: told.append((what, share)))
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert shares[0] == 0
    assert shares[-1] == 1
    assert "build-W-2.pdf" in [what for what, _ in told]


def test_a_plan_with_nothing_ready_writes_a_pick_list_that_says_so(tmp_path):
    (path,) = write(tmp_path, waiting("W-1"))
    assert "Nothing to pick" in texts(path.read_bytes())[0]


def test_writing_twice_gives_the_same_bytes(tmp_path):
    first = [path.read_bytes() for path in write(tmp_path / "one", few(), few("W-2"))]
    assert first == [path.read_bytes() for path in write(tmp_path / "two", few(), few("W-2"))]
