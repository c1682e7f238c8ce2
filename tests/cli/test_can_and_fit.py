"""`combwright can` and `combwright fit`, checked against the example files read here once more."""

import csv
import json
import tomllib

import pytest

from cli.commands import combwright, combwright_apart
from cli.pitches import midi, name
from cli.shapes import NUMBER, check_shape
from cli.test_plan import FILES, PLATE, SEAT, SHORTAGE, WITH
from published import rows

CAN = {
    "schema": {1}, "can": bool, "cost": (NUMBER, None), "seats": [SEAT],
    "plates?": [{"for": str, **PLATE}], "missing": [SHORTAGE],
}  # fmt: skip
FIT = {
    "schema": {1},
    "seats": [
        {
            "hole": int, "deck": {"upper", "lower"},
            "bins": [
                {"bin": str, "fits": bool, "why": str, "slot_mm": float, "takes_mm": float}
            ],
        }
    ],
}  # fmt: skip
RAISED = ("--key", "C", "--layout", "standard", "--change", "5 draw=F#5")
STANDARD = {
    (int(row["hole"]), breath): 60 + int(row[breath])
    for row in rows("oeis_a291810.csv")
    for breath in ("blow", "draw")
}


def keep_rows(folder, wanted):
    """Leave only some bins in the rack."""
    with (folder / "rack.csv").open() as file:
        kept = [row for row in csv.DictReader(file) if wanted(row)]
    lines = [",".join(row) for row in [list(kept[0]), *(row.values() for row in kept)]]
    (folder / "rack.csv").write_text("\n".join(lines) + "\n")


def test_a_wish_that_can_be_built_now_is_answered_with_its_seats(example_set):
    answer = combwright_apart("can", "rack.csv", *RAISED, "--json", cwd=example_set)
    document = answer.document
    check_shape(document, CAN)
    assert answer.err == ""
    assert (document["can"], document["missing"]) == (True, [])
    wanted = {(seat["hole"], seat["breath"]): midi(seat["wanted"]) for seat in document["seats"]}
    assert wanted == STANDARD | {(5, "draw"): midi("F#5")}
    with (example_set / "rack.csv").open() as file:
        prices = {row["bin"]: float(row["cost"]) for row in csv.DictReader(file)}
    cost = sum(prices[seat["bin"]] for seat in document["seats"])
    filed = [seat for seat in document["seats"] if seat["way"] != "none"]
    assert (document["cost"], filed) == (pytest.approx(cost), [])


def test_a_wish_that_lacks_a_plate_is_answered_with_what_is_missing_and_no_failure(shop):
    """Without the F#5, and with files that move a reed by less than a semitone."""
    keep_rows(shop, lambda row: row["pitch"] != "F#5")
    (shop / "workshop.toml").write_text("[retune]\nraise_most_cents = 50\nlower_most_cents = 50\n")
    asked = ["can", "rack.csv", *RAISED, "--workshop", "workshop.toml"]
    document = combwright_apart(*asked, "--json", cwd=shop).document
    check_shape(document, CAN)
    (missing,) = document.pop("missing")
    assert document == {"schema": 1, "can": False, "cost": None, "seats": []}
    text = missing.pop("text")
    assert missing == {"missing": 1, "pitches": ["F#5"], "holes": [5], "parts": [], "orders": []}
    assert "1 plate of pitch F#5 that fits hole 5 is missing" in text
    out = combwright(*asked, cwd=shop).out
    assert out.splitlines() == ["No, it cannot be built now:", f"  {text}"]


def test_a_file_makes_up_for_the_missing_plate_where_the_workshop_files_that_far(shop):
    """The same rack with the usual limits: an F5 is raised."""
    keep_rows(shop, lambda row: row["pitch"] != "F#5")
    document = combwright("can", "rack.csv", *RAISED, "--json", cwd=shop).document
    assert document["can"]
    (filed,) = [seat for seat in document["seats"] if seat["way"] == "file"]
    assert (filed["hole"], filed["wanted"]) == (5, "F#5")
    assert filed["retune_cents"] == pytest.approx(100, abs=5)


def test_a_free_layout_leaves_the_seats_of_a_dash_empty(example_set):
    blow = "- E4 G4 C5 E5 G5 C6 E6 G6 C7"
    draw = "D4 G4 B4 D5 F5 A5 B5 D6 F6 none"
    asked = ["can", "rack.csv", "--blow", blow, "--draw", draw]
    document = combwright(*asked, "--json", cwd=example_set).document
    check_shape(document, CAN)
    assert document["can"]
    wanted = {(seat["hole"], seat["breath"]): midi(seat["wanted"]) for seat in document["seats"]}
    assert wanted == {
        place: note for place, note in STANDARD.items() if place not in {(1, "blow"), (10, "draw")}
    }
    out = combwright(*asked, cwd=example_set).out
    assert out.startswith("Yes, it can be built now, for ")
    assert len(out.splitlines()) == 19


def test_a_free_layout_is_written_in_c_and_moved_to_its_key(example_set):
    asked = ["--blow", "C4", "--draw", "D4", "--key", "A", "--change", "1 draw=C4", "--json"]
    document = combwright("can", "rack.csv", *asked, cwd=example_set).document
    assert [seat["wanted"] for seat in document["seats"]] == ["A3", "C4"]


def test_temperament_and_pitch_standard_move_what_is_wanted(example_set):
    """The third above the key is 5/4 in 19-limit: 13.686 cents under equal (see docs/sources.md).

    442 Hz is 1200 log2(442 / 440) = 7.8514 cents above 440.
    """
    asked = ["--temperament", "19-limit", "--a4", "442", "--json"]
    document = combwright("can", "rack.csv", *asked, cwd=example_set).document
    cents = {(seat["hole"], seat["breath"]): seat["wanted_cents"] for seat in document["seats"]}
    assert cents[1, "blow"] == pytest.approx(7.8514, abs=0.001)
    assert cents[2, "blow"] == pytest.approx(7.8514 - 13.6863, abs=0.001)


def test_a_kit_goes_along_and_parts_are_counted_where_they_are_given(shop):
    document = combwright("can", "rack.csv", "--kit", "5 draw; 4 draw", "--json", cwd=shop).document
    check_shape(document, CAN)
    assert [(p["for"], p["wanted"]) for p in document["plates"]] == [
        ("5 draw", "F5"), ("4 draw", "D5")
    ]  # fmt: skip
    (shop / "parts.csv").write_text("part,count\ncomb,1\ncover,1\nscrew,4\ngasket,20\n")
    asked = ["can", "rack.csv", "--comb", "comb.toml", "--parts", "parts.csv", "--json"]
    document = combwright(*asked, cwd=shop).document
    (missing,) = document["missing"]
    assert (document["can"], missing["missing"], missing["parts"]) == (False, 1, ["cover"])


def test_plates_that_an_earlier_plan_set_aside_are_not_free(shop):
    plan = combwright("plan", *FILES, *WITH, "--json", cwd=shop)
    (shop / "plan.json").write_text(plan.out)
    asked = ["can", "rack.csv", "--key", "C", "--json"]
    assert combwright(*asked, cwd=shop).document["can"]
    document = combwright(*asked, "--keep", "plan.json", cwd=shop).document
    assert not document["can"]
    assert sum(short["missing"] for short in document["missing"]) >= 10


@pytest.mark.parametrize(
    ("seat", "hole", "deck"),
    [("3 upper", 3, "upper"), ("3 lower", 3, "lower"), ("7 blow", 7, "upper"),
     ("10 draw", 10, "lower")],
)  # fmt: skip
def test_measured_lengths_and_mounts_decide_what_fits_a_seat(shop, seat, hole, deck):
    """A slot as long as the chamber less its margin fits; a deck takes the mounts it says."""
    comb = (shop / "comb.toml").read_text().replace('mount = "any"', 'mount = "rear"', 1)
    (shop / "comb.toml").write_text(comb)
    shape = tomllib.loads(comb)
    takes = shape["chamber"][hole - 1]["length_mm"] - shape["end_margin_mm"]
    answer = combwright("fit", "rack.csv", "comb.toml", "--seat", seat, "--json", cwd=shop)
    check_shape(answer.document, FIT)
    (found,) = answer.document["seats"]
    assert (found["hole"], found["deck"]) == (hole, deck)
    with (shop / "rack.csv").open() as file:
        bins = list(csv.DictReader(file))
    assert [each["bin"] for each in found["bins"]] == [row["bin"] for row in bins]
    for each, row in zip(found["bins"], bins, strict=True):
        long = float(row["slot_mm"]) > takes + 1e-9
        wrong_end = deck == "upper" and row["mount"] != "rear"
        assert each["fits"] == (not long and not wrong_end)
        assert each["slot_mm"] == float(row["slot_mm"])
        assert each["takes_mm"] == pytest.approx(takes)
        assert ("slot" in each["why"], "mounted" in each["why"]) == (long, wrong_end)
    assert {each["fits"] for each in found["bins"]} == {True, False}


def test_without_a_seat_the_whole_comb_is_counted_against_the_whole_rack(example_set):
    document = combwright("fit", "rack.csv", "comb.toml", "--json", cwd=example_set).document
    check_shape(
        document,
        {
            "schema": {1},
            "seats": [
                {
                    "hole": int, "deck": {"upper", "lower"}, "takes_mm": float, "bins": int,
                    "plates": int, "bins_fit": int, "plates_fit": int,
                }
            ],
        },
    )  # fmt: skip
    with (example_set / "rack.csv").open() as file:
        bins = [(float(row["slot_mm"]), int(row["count"])) for row in csv.DictReader(file)]
    assert len(document["seats"]) == 20
    for seat in document["seats"]:
        fitting = [count for slot, count in bins if slot <= seat["takes_mm"] + 1e-9]
        assert (seat["bins_fit"], seat["plates_fit"]) == (len(fitting), sum(fitting))
        assert (seat["bins"], seat["plates"]) == (len(bins), sum(count for _, count in bins))
    out = combwright("fit", "rack.csv", "comb.toml", cwd=example_set).out
    assert len(out.splitlines()) == 20


def test_the_notes_of_both_commands_go_to_standard_error(shop):
    """A slot longer than any chamber is a note that names the bin: it may be for another comb."""
    with (shop / "rack.csv").open("a") as file:
        file.write("Z-99,C4,0,30,front,plain,1,1.95,,Z-99,\n")
    for asked in (["fit", "rack.csv", "comb.toml"], ["can", "rack.csv", "--comb", "comb.toml"]):
        answer = combwright(*asked, "--json", cwd=shop)
        assert json.loads(answer.out)["schema"] == 1
        (note,) = answer.err.splitlines()
        assert note.startswith("Note: ")
        assert "bin Z-99: the slot of 30 mm is longer than any chamber" in note


def test_names_are_spelt_with_sharps(example_set):
    asked = ["can", "rack.csv", "--key", "Bb", "--layout", "third-draw-lowered", "--json"]
    document = combwright("can", "rack.csv", *asked[2:], cwd=example_set).document
    wanted = [seat["wanted"] for seat in document["seats"]]
    wanted += [pitch for short in document["missing"] for pitch in short["pitches"]]
    assert wanted
    assert all(name(midi(note)) == note for note in wanted)


@pytest.mark.parametrize(("mark", "cost"), [("comma", 1.95), ("point", None)])
def test_a_cost_that_could_be_read_two_ways_is_read_by_the_decimal_option(tmp_path, mark, cost):
    rack = tmp_path / "rack.csv"
    rack.write_text('bin,pitch,slot_mm,mount,count,cost\nA-1,C4,12,front,1,"1,950"\n')
    wish = ("can", rack, "--blow", "C4", "--draw", "-", "--json")
    assert "--decimal point or --decimal comma" in combwright(*wish).error
    answer = combwright(*wish, "--decimal", mark)
    if cost is None:
        assert "1,950" in answer.error
    else:
        assert answer.document["cost"] == cost


def test_a_layout_and_notes_of_its_own_do_not_go_together(tmp_path):
    rack = tmp_path / "rack.csv"
    rack.write_text("bin,pitch,slot_mm,mount,count,cost\n")
    notes = ("--blow", "C4", "--draw", "-")
    assert "do not go together" in combwright("can", rack, "--layout", "standard", *notes).error
    empty = ("--blow", "-", "--draw", "-")
    assert "all of them are empty" in combwright("can", rack, *empty).error
