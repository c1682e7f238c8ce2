"""`combwright tab`, `match` and `swaps`, from files to documents and words."""

import pytest

from cli.commands import combwright
from cli.shapes import check_shape

SCALE = "X:1\nT:Scale\nL:1/8\nK:C\nCDEF GABc |]\n"
LOW = "X:2\nT:Low\nL:1/4\nK:C\nG, A, ^G c |]\n"
TAB = {
    "schema": {1},
    "tunes": [
        {
            "title": str, "source": str, "shift": int, "text": str, "bends": int,
            "overbends": int, "unplayable": int, "cost": float,
            "costs": {"bends": float, "overbends": float, "along": float, "missing": float,
                      "moves": float},
            "remarks": [str],
            "notes": [
                {"pitch": str, "start": str, "length": str, "hole": (int, None),
                 "breath": ({"blow", "draw"}, None), "bend": int,
                 "overbend": ({"overblow", "overdraw"}, None)}
            ],
        }
    ],
}  # fmt: skip


@pytest.fixture
def book(tmp_path):
    path = tmp_path / "book.abc"
    path.write_text(f"{SCALE}\n{LOW}")
    return path


def test_tab_follows_the_contract_and_marks_what_cannot_be_played(book):
    answer = combwright("tab", book, "--json")
    check_shape(answer.document, TAB)
    scale, low = answer.document["tunes"]
    assert [(n["hole"], n["breath"], n["bend"]) for n in scale["notes"]] == [
        (1, "blow", 0), (1, "draw", 0), (2, "blow", 0), (2, "draw", 2),
        (2, "draw", 0), (3, "draw", 2), (3, "draw", 0), (4, "blow", 0),
    ]  # fmt: skip
    assert (scale["notes"][3]["start"], scale["notes"][3]["length"]) == ("3/8", "1/8")
    assert (scale["bends"], scale["unplayable"], low["unplayable"]) == (2, 0, 2)
    for each in (scale, low):
        assert sum(each["costs"].values()) == pytest.approx(each["cost"])


def test_tab_in_words_shows_notes_over_holes_and_explains_itself(book):
    out = combwright("tab", book).out
    assert "C4  D4  E4  F4    G4  A4    B4  C5\n1   -1  2   -2''  -2  -3''  -3  4" in out
    assert "4 notes: 1 bent, 0 overbent, 2 not on this instrument" in out
    assert out.endswith("? not on this instrument.\n")


def test_tab_moves_a_tune_by_octaves_or_to_the_cheapest_place(book):
    by_octave, best = (
        combwright("tab", book, "--shift", how, "--json").document["tunes"]
        for how in ("octave", "best")
    )
    assert by_octave[0]["shift"] == 12
    assert by_octave[0]["bends"] == 0
    assert by_octave[1]["unplayable"] == 0
    assert all(b["cost"] <= o["cost"] for b, o in zip(best, by_octave, strict=True))


def test_tab_in_another_key_is_the_same_tab_moved(book):
    here = combwright("tab", book, "--json").document["tunes"][0]
    there = combwright("tab", book, "--key", "A", "--shift", "-3", "--json").document["tunes"][0]
    assert (here["cost"], here["bends"]) == (there["cost"], there["bends"])
    assert [n["hole"] for n in here["notes"]] == [n["hole"] for n in there["notes"]]


def test_match_ranks_the_layouts_and_names_the_dearest_tunes(book):
    document = combwright("match", book, "--json").document
    assert document["tunes"] == 2
    costs = [each["cost"] for each in document["layouts"]]
    assert costs == sorted(costs)
    assert len(costs) > 10
    for each in document["layouts"]:
        assert each["natural"] <= each["with_bends"] <= each["with_overbends"] <= 2
    asked = ["--layouts", "standard", "--layouts", "third-blow-raised"]
    out = combwright("match", book, *asked).out
    rows = [line.split()[0] for line in out.splitlines()[4:6]]
    ranked = [each["layout"] for each in document["layouts"] if each["layout"] in rows]
    assert rows == ranked


def test_swaps_finds_the_raised_third_blow_and_prints_its_proof(tmp_path):
    path = tmp_path / "a.abc"
    path.write_text("X:1\nT:A\nL:1/4\nK:C\nCEGA cdec | FABA FABc | GAFE C2 g2 | e'2 c''2 |]\n")
    document = combwright("swaps", path, "--most", "1", "--json").document
    assert (document["candidates"], document["bounded"], document["proven"]) == (80, 80, True)
    assert document["evaluated"] <= 80
    assert document["best"][0]["changes"] == ["3 blow=A4"]
    assert document["best"][0]["cost"] < document["base"]["cost"]
    out = combwright("swaps", path, "--most", "1").out
    assert "Proof: 80 sets, 80 bounded" in out
    assert "  The first loses: G#4 (bend)" in out


def test_swaps_from_a_rack_are_plates_that_lie_there(book, example_set):
    answer = combwright("swaps", book, "--rack", example_set / "rack.csv", "--most", "1", "--json")
    assert 0 < answer.document["candidates"] < 80


def test_what_cannot_be_read_is_said_aside_and_the_rest_is_played(book, tmp_path):
    (tmp_path / "bad.mid").write_bytes(b"MThd\0\0")
    answer = combwright("tab", tmp_path / "bad.mid", book, "--json")
    assert len(answer.document["tunes"]) == 2
    assert answer.err == "Note: bad.mid: it ends in the middle; it is cut short.\n"


@pytest.mark.parametrize(
    ("more", "line"),
    [
        (["--shift", "up"], "'up' is no shift; write semitones from -60 to 60, octave or best."),
        (["--player", "me"], "'me' is no kind of player; beginner, intermediate, expert are."),
        (["--layout", "standart"], "There is no layout 'standart'"),
    ],
)
def test_what_is_asked_wrongly_is_one_line(book, more, line):
    assert line in combwright("tab", book, *more).error


def test_files_without_any_tune_are_one_line(tmp_path):
    answer = combwright("match", tmp_path / "none.abc")
    assert answer.code == 2
    assert answer.err.splitlines()[-1].startswith("Error: No tune could be read")
