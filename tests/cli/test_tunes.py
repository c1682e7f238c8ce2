"""`combwright tab`, `match` and `swaps`, from files to documents and words."""

import subprocess
import sys

import pytest

from cli.commands import combwright
from cli.shapes import NUMBER, check_shape
from combwright.comb.reach import HOWS
from sheets.examples import texts

SCALE = "X:1\nT:Scale\nL:1/8\nK:C\nCDEF GABc |]\n"
LOW = "X:2\nT:Low\nL:1/4\nK:C\nG, A, ^G c |]\n"
TAB = {
    "schema": {1},
    "tunes": [
        {
            "title": str, "source": str, "shift": int, "text": str, "bends": int,
            "overbends": int, "unplayable": int, "phrases": int, "one_breath": int,
            "breath_changes": int, "cost": float,
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

PLACED = {
    "layout": str, "key": (str, None), "changes": [str], "cost": NUMBER, "bends_per_100": NUMBER,
}  # fmt: skip
MATCH = {
    "schema": {1}, "candidates": int, "bounded": int, "evaluated": int, "proven": {True},
    "best": [PLACED], "base": (PLACED, None),
    "tunes": int,
    "as_written": bool,
    "layouts": [
        {
            "layout": str, "key": (str, None), "own": bool, "cost": NUMBER, "natural": int,
            "with_bends": int, "with_overbends": int, "bends_per_100": NUMBER, "notes": int,
            "bends": int, "overbends": int, "missing": int,
            "worst": [
                {"title": str, "source": str, "shift": int, "cost": NUMBER, "bends": int,
                 "overbends": int, "missing": int}
            ],
            "hardest": [
                {"pitch": str, "hole": (int, None), "breath": ({"blow", "draw"}, None), "bend": int,
                 "overbend": ({"overblow", "overdraw"}, None), "times": int}
            ],
            "easier": (int, None), "saves": (NUMBER, None),
        }
    ],
}  # fmt: skip
NOTE = {"note": str, "was": set(HOWS), "now": set(HOWS)}
CHORD = {"breath": {"blow", "draw"}, "holes": [int], "was": (str, None), "now": (str, None)}
BY_HOW = dict.fromkeys(HOWS, int)
TUNE = {"title": str, "source": str, "by": float}
SET = {
    "changes": [str], "cost": NUMBER, "bends_per_100": NUMBER, "natural": int, "missing": int,
    "plates": (
        None,
        [{"change": str, "from": {"rack", "kit", "seat"}, "plate": str, "retune_cents": float,
          "way": {"none", "file", "weight"}, "cost": float}],
    ),
    "elsewhere": {
        "lost": [NOTE], "gained": [NOTE], "chords": [CHORD], "splits": [CHORD],
        "scales": [{"position": set(range(1, 13)), "tonic": str, "was": BY_HOW, "now": BY_HOW}],
        "easier": int, "harder": int, "same": int, "worst": [TUNE], "helped": [TUNE],
    },
}  # fmt: skip
SWAPS = {
    "schema": {1}, "candidates": int, "bounded": int, "evaluated": int, "proven": {True},
    "best": [SET], "base": SET,
    "rounds": [
        {"swaps": int, "candidates": int, "bounded": int, "bounds": int, "evaluated": int,
         "proven": {True},
         "lowest_bound_left": (NUMBER, None), "best": [SET]}
    ],
}  # fmt: skip
TUNE_A = "X:1\nT:A\nL:1/4\nK:C\nCEGA cdec | FABA FABc | GAFE C2 g2 | e'2 c''2 |]\n"


@pytest.fixture
def tune(tmp_path):
    path = tmp_path / "a.abc"
    path.write_text(TUNE_A)
    return path


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


def test_tab_tells_how_a_tune_is_breathed_and_whither_it_was_moved(book):
    out = combwright("tab", book, "--shift", "12").out
    assert "Low\nmoved 12 semitones up\n\nG4  A4    G#5  C6\n" in out
    assert "1 phrase, 0 in one breath; " in out
    low = combwright("tab", book, "--json").document["tunes"][1]
    assert (low["phrases"], low["one_breath"], low["breath_changes"]) == (1, 0, 1)
    assert "moved 1 semitone down" in combwright("tab", book, "--shift", "-1").out


def test_tab_starts_without_arrays_and_without_compiling(book):
    code = (
        "import sys; from combwright.cli.main import run\n"
        "try: run()\nfinally: print(*sys.modules, file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "tab", book], capture_output=True, text=True, timeout=60
    )
    assert "Scale" in done.stdout
    assert not {"numpy", "numba", "django"} & set(done.stderr.split())


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
    check_shape(document, MATCH)
    assert document["tunes"] == 2
    assert document["base"]["layout"] == "standard"
    placed = [(each["layout"], each["cost"]) for each in document["layouts"]]
    assert [(each["layout"], each["cost"]) for each in document["best"]] == placed[:5]
    assert document["candidates"] == document["evaluated"] == len(placed)
    costs = [each["cost"] for each in document["layouts"]]
    assert costs == sorted(costs)
    assert len(costs) > 10
    for each in document["layouts"]:
        assert each["natural"] <= each["with_bends"] <= each["with_overbends"] <= 2
    asked = ["--layouts", "standard", "--layouts", "third-blow-raised"]
    out = combwright("match", book, *asked).out
    rows = [line.split()[1] for line in out.splitlines()[4:6]]
    ranked = [each["layout"] for each in document["layouts"] if each["layout"] in rows]
    assert rows == ranked


def test_swaps_finds_the_raised_third_blow_and_follows_the_contract(tune):
    document = combwright("swaps", tune, "--json").document
    check_shape(document, SWAPS)
    single, pairs = document["rounds"]
    assert (single["candidates"], single["bounded"], single["evaluated"] <= 80) == (80, 80, True)
    assert document["candidates"] == pairs["candidates"] == 3040
    assert single["best"][0]["changes"] == ["3 blow=A4"]
    assert single["best"][0]["cost"] < document["base"]["cost"]
    assert single["best"][0]["plates"] is None
    costs = [each["cost"] for each in document["best"]]
    assert costs == sorted(costs)
    for each in (single, pairs):
        assert each["best"][-1]["cost"] <= each["lowest_bound_left"]


def test_swaps_in_another_key_are_the_same_swaps_in_sounding_notes(tune):
    here = combwright("swaps", tune, "--most", "1", "--json").document["rounds"][0]["best"]
    there = combwright("swaps", tune, "--most", "1", "--key", "low A", "--json").document
    there = there["rounds"][0]["best"]
    assert [each["cost"] for each in there] == [each["cost"] for each in here]
    assert (here[0]["changes"], there[0]["changes"]) == (["3 blow=A4"], ["3 blow=F#3"])
    assert [each["position"] for each in there[0]["elsewhere"]["scales"]] == [
        each["position"] for each in here[0]["elsewhere"]["scales"]
    ]


def test_swaps_in_words_tells_what_is_lost_elsewhere_and_prints_its_proof(tune):
    out = combwright("swaps", tune, "--most", "1").out
    assert "  1  3 blow=A4\n     cost 7.30, 6.55 less than the base" in out
    assert "notes lost: G#4 (bend, now overbend); gained: A4 (natural, was bend)" in out
    assert "octaves: 3 to 6 blow G octave becomes nothing" in out
    assert "tunes: 1 easier, 0 harder, 0 as before\n     easier most: A (-6.55)" in out
    assert "more than the first" in out
    assert "Proof: 80 sets in all, and for each a bound" in out
    assert max(map(len, out.splitlines())) < 80


def test_swaps_that_help_nothing_are_said_to(tmp_path):
    easy = tmp_path / "easy.abc"
    easy.write_text("X:1\nK:C\nccc|\n")
    out = combwright("swaps", easy, "--most", "1").out
    assert "With 1 reed swapped nothing becomes easier; what costs least:" in out


def test_swaps_from_a_rack_are_plates_that_lie_there_retuned_as_the_workshop_may(
    tune, example_set, tmp_path
):
    rack = ["--rack", example_set / "rack.csv", "--most", "1", "--json"]
    usual = combwright("swaps", tune, *rack).document
    check_shape(usual, SWAPS)
    assert 0 < usual["candidates"] <= 80
    for each in usual["rounds"][0]["best"]:
        (plate,) = each["plates"]
        assert plate["from"] == "rack"
        assert -80 <= plate["retune_cents"] <= 150
    strict = tmp_path / "workshop.toml"
    strict.write_text("[retune]\nraise_most_cents = 0\nlower_most_cents = 0\n")
    fewer = combwright("swaps", tune, *rack, "--workshop", strict).document
    assert fewer["candidates"] < usual["candidates"]


def test_swaps_from_a_kit_name_the_plate_and_plates_may_change_places(tune):
    kit = ["--kit", "5 draw=F#5", "--kit", "3 blow=A4", "--most", "1"]
    document = combwright("swaps", tune, *kit, "--json").document
    best = document["rounds"][0]["best"]
    assert best[0]["plates"] == [
        {"change": "3 blow=A4", "from": "kit", "plate": "3 blow=A4", "retune_cents": 0.0,
         "way": "none", "cost": 0.0}
    ]  # fmt: skip
    assert "     3 blow=A4 from the kit's 3 blow=A4\n" in combwright("swaps", tune, *kit).out
    moved = combwright("swaps", tune, "--kit", "", "--json").document
    assert {**moved["rounds"][0], "bounds": 0} == {
        "swaps": 1, "candidates": 0, "bounded": 0, "bounds": 0, "evaluated": 0, "proven": True,
        "lowest_bound_left": None, "best": [],
    }  # fmt: skip
    assert moved["best"][0]["changes"] == ["4 blow=D5", "4 draw=C5"]
    assert [plate["plate"] for plate in moved["best"][0]["plates"]] == ["4 draw", "4 blow"]
    out = combwright("swaps", tune, "--kit", "").out
    assert "  There is no such set that the plates are there for.\n" in out
    assert "     4 blow=D5 from the plate taken out of 4 draw\n" in out


@pytest.mark.parametrize(
    ("more", "line"),
    [
        (["--workshop", "w.toml"],
         "--workshop says how a rack is used; name the rack with --rack."),
        (["--decimal", "comma", "--kit", ""],
         "--decimal says how a rack is used; name the rack with --rack."),
        (["--comb", "c.toml"],
         "--comb says where plates fit; name them with --rack or --kit."),
        (["--kit", "11 draw=F#5"],
         "'11 draw': There is no hole 11: holes run from 1 to 10."),
        (["--kit", "5 draw=none"],
         "'5 draw=none': a kit holds plates; name a pitch, or leave the line out"),
        (["--rack", "none.csv"], "none.csv"),
    ],
)  # fmt: skip
def test_plates_that_are_asked_for_wrongly_are_one_line(tune, more, line):
    assert line in combwright("swaps", tune, *more).error


def test_what_cannot_be_read_is_said_aside_and_the_rest_is_played(book, tmp_path):
    (tmp_path / "bad.mid").write_bytes(b"MThd\0\0")
    answer = combwright("tab", tmp_path / "bad.mid", book, "--json")
    assert len(answer.document["tunes"]) == 2
    assert answer.err == "Note: bad.mid: it ends in the middle; it is cut short.\n"


@pytest.mark.parametrize(
    ("more", "line"),
    [
        (["--shift", "up"], "'up' is no shift; write semitones from -60 to 60, octave or best."),
        (
            ["--player", "me"],
            "'me' is no kind of player; beginner, intermediate, expert are, or a .toml",
        ),
        (["--layout", "standart"], "There is no layout 'standart'"),
    ],
)
def test_what_is_asked_wrongly_is_one_line(book, more, line):
    assert line in combwright("tab", book, *more).error


def test_files_without_any_tune_are_one_line(tmp_path):
    answer = combwright("match", tmp_path / "none.abc")
    assert answer.code == 2
    assert answer.err.splitlines()[-1].startswith("Error: No tune could be read")


def test_tab_engraves_a_pdf_beside_its_text(book, tmp_path):
    path = tmp_path / "tab.pdf"
    answer = combwright("tab", book, "--key", "G", "--change", "3 blow=E4", "--pdf", path)
    assert answer.out == combwright("tab", book, "--key", "G", "--change", "3 blow=E4").out
    (page,) = texts(path.read_bytes())
    assert "Tab for 2 tunes" in page
    assert "key of G, changed: 3 blow=E4" in page
    assert combwright("tab", book, "--pdf", path, "--paper", "letter").code == 0


@pytest.mark.parametrize(
    ("name", "why"),
    [("tab.svg", "The document is PDF; name it so: tab.svg.pdf."),
     ("no/tab.pdf", "There is no folder")],
)  # fmt: skip
def test_tab_refuses_a_file_that_no_pdf_can_be_written_to(book, tmp_path, name, why):
    answer = combwright("tab", book, "--pdf", tmp_path / name)
    assert (answer.code, answer.out) == (2, "")
    assert why in answer.err


def test_match_in_keys_leaves_tunes_in_their_own_and_ranks_every_layout_in_each(book):
    document = combwright(
        "match", book, "--keys", "all", "--layouts", "standard", "--json"
    ).document
    assert document["as_written"] is True
    assert len({each["key"] for each in document["layouts"]}) == 12
    assert all(w["shift"] % 12 == 0 for each in document["layouts"] for w in each["worst"])
    some = combwright("match", book, "--keys", "low F, C", "--keys", "C", "--json").document
    assert {each["key"] for each in some["layouts"]} == {"low F", "C"}


def test_match_ranks_the_customers_own_and_marks_it_even_far_down(book):
    own = "standard, A, 5 draw=D#5; 3 blow=F#4"
    answer = combwright("match", book, "--keys", "all", "--own", own)
    (line,) = [text for text in answer.out.splitlines() if "(yours)" in text]
    assert "standard, 5 draw=D#5; 3 blow=F#4 in A (yours)" in line
    assert "easier: tunes that are easier on it than on any of yours." in answer.out
    layouts = combwright("match", book, "--own", own, "--json").document["layouts"]
    assert [(each["layout"], each["key"]) for each in layouts if each["own"]] == [
        ("standard, 5 draw=D#5; 3 blow=F#4", "A")
    ]


@pytest.mark.parametrize(
    ("options", "why"),
    [(["--own", "standard, A, 5 draw=D#5, 3 blow=F#4"], "is no instrument; write its layout"),
     (["--own", "standard, H"], "'H' is no key"), (["--keys", "C,,D"], "'' is no key"),
     (["--own", "nonesuch, A"], "There is no layout 'nonesuch'")],
)  # fmt: skip
def test_match_says_what_is_wrong_with_an_instrument(book, options, why):
    answer = combwright("match", book, *options)
    assert (answer.code, answer.out) == (2, "")
    assert why in answer.err


def test_match_says_which_notes_cost_most(book):
    layouts = combwright("match", book, "--layouts", "standard", "--keys", "C", "--json").document
    (hardest, *_) = layouts["layouts"][0]["hardest"]
    assert set(hardest) == {"pitch", "hole", "breath", "bend", "overbend", "times"}
    assert hardest["times"] >= 1
    assert "What costs most on it:" in combwright("match", book, "--keys", "C").out


def test_match_draws_a_picture_and_prints_pages(book, tmp_path):
    picture, pdf = tmp_path / "match.svg", tmp_path / "match.pdf"
    out = combwright("match", book, "--picture", picture, "--pdf", pdf, "--paper", "letter").out
    assert out == combwright("match", book).out
    assert "How much of 2 tunes each instrument plays" in picture.read_text("utf-8")
    assert "2 tunes at their best places" in texts(pdf.read_bytes())[1]
    wrong = combwright("match", book, "--picture", tmp_path / "match.png")
    assert (wrong.code, wrong.out) == (2, "")


def test_swaps_draws_the_comb_with_what_is_swapped(book, tmp_path):
    picture = tmp_path / "swaps.svg"
    out = combwright("swaps", book, "--most", "1", "--picture", picture).out
    assert out == combwright("swaps", book, "--most", "1").out
    assert "frame: swapped seat" in picture.read_text("utf-8")
    wrong = combwright("swaps", book, "--picture", tmp_path)
    assert (wrong.code, wrong.out) == (2, "")
