"""Designs in forms: what was typed is kept, what is wrong is said beside its field."""

import pytest
from django.urls import reverse

from combwright.comb.catalogue import catalogue_layout, layout_ids
from combwright.comb.default_comb import default_comb
from combwright.files.combs import comb_toml, parse_comb
from combwright.files.layouts import layout_toml, parse_layout
from combwright.shop.designs import queries
from combwright.shop.designs.models import Design
from shop.designs.drafts import (
    COMB,
    LAYOUT,
    a_comb,
    a_layout,
    fields_of,
    make,
    opened,
    short_comb,
    somebody,
    text,
)

pytestmark = pytest.mark.django_db
NEW_LAYOUT, NEW_COMB = "/designs/layouts/new/", "/designs/combs/new/"
EDIT_LAYOUT, EDIT_COMB = "/designs/layouts/low-drone/edit/", "/designs/combs/short-comb/edit/"


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


def shown(answer):
    """What the page that came back would send."""
    return fields_of(answer.content.decode().split("<main")[1])


def faults(answer):
    return {name: list(errors) for name, errors in answer.context["form"].errors.items()}


@pytest.mark.parametrize("code", layout_ids())
def test_a_copy_of_a_layout_has_the_same_reeds_under_its_own_name(maker, code):
    given = opened(maker, f"{NEW_LAYOUT}?from={code}") | {"title": "My copy"}
    assert maker.post(f"{NEW_LAYOUT}?from={code}", given).headers["Location"] == (
        "/designs/layouts/my-copy/"
    )
    made, original = queries.layout("my-copy"), catalogue_layout(code)
    assert (made.seats, made.holes, made.about) == (
        original.seats, original.holes, original.about
    )  # fmt: skip


def test_a_layout_is_made_with_a_turned_plate_an_empty_seat_and_cents(maker):
    given = opened(maker, NEW_LAYOUT) | {
        "title": "Turned", "code": "turned_third", "note_3_upper": "Bb4", "breath_3_upper": "draw",
        "cents_3_upper": "-2,5", "note_10_lower": "",
    }  # fmt: skip
    assert maker.post(NEW_LAYOUT, given).status_code == 302
    layout = queries.layout("turned-third")
    turned = layout.at(3, "upper")
    assert (turned.breath, turned.midi, turned.cents) == ("draw", 70, -2.5)
    assert layout.at(10, "lower") is None
    assert len(layout.seats) == 19


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"note_4_upper": "H5"}, "note_4_upper", "is no note"),
        ({"note_4_upper": "C5+3"}, "note_4_upper", "Give the cents in their own field"),
        ({"cents_4_upper": "200.5"}, "cents_4_upper", "out of range; -200 to 200"),
        ({"note_4_upper": "", "cents_4_upper": "3"}, "note_4_upper", "which note these cents"),
        ({"cents_4_upper": "a bit"}, "cents_4_upper", "is no number"),
        ({"breath_4_upper": "hum"}, "breath_4_upper", "valid choice"),
        ({"holes": "17"}, "holes", "17 is out of range; 1 to 16"),
        ({"holes": "ten"}, "holes", "whole number"),
        ({"title": " "}, "title", "required"),
        ({"title": "T" * 101}, "title", "at most 100"),
        ({"title": "A\u200bB"}, "title", "cannot be seen (U+200B)"),
        ({"title": "standard"}, "title", "is in the catalogue"),
        ({"title": "LOW  drone"}, "title", "Another one is called Low drone"),
        ({"title": "X", "code": "Country"}, "code", "a name of the catalogue"),
        ({"title": "X", "code": "low drone"}, "code", "the name of Low drone already"),
        ({"title": "X", "code": "süß"}, "code", "small letters, digits and hyphens"),
    ],
)
def test_a_wrong_layout_is_said_beside_its_field_and_kept_as_typed(maker, typed, field, said):
    a_layout()
    given = opened(maker, NEW_LAYOUT) | {"title": "Mine", "about": "typed by hand"} | typed
    answer = maker.post(NEW_LAYOUT, given)
    assert answer.status_code == 422
    assert said in " ".join(faults(answer)[field])
    assert list(faults(answer)) == [field]
    kept = shown(answer)
    for name, value in given.items():
        if name != "breath_4_upper":  # no box offers what a box did not offer
            assert kept[name] == value, name
    assert Design.objects.count() == 1


def test_fewer_holes_and_more_again_lose_nothing_that_was_typed(maker):
    given = opened(maker, NEW_LAYOUT)
    given |= {"title": "Mine", "cents_9_lower": "1.25", "note_10_upper": "B6"}
    fewer = maker.post(NEW_LAYOUT, given | {"holes": "8", "apply": "1"})
    assert fewer.status_code == 200
    assert "9 upper" not in text(fewer)
    assert "8 lower" in text(fewer)
    more = maker.post(NEW_LAYOUT, shown(fewer) | {"holes": "11", "apply": "1"})
    assert "11 lower" in text(more)
    kept = shown(more)
    for name, value in given.items():
        if name != "holes":
            assert kept[name] == value, name
    assert not Design.objects.exists()
    assert maker.post(NEW_LAYOUT, kept).status_code == 302
    made = queries.layout("mine")
    assert kept["breath_11_lower"] == "draw"
    assert (made.holes, made.at(9, "lower").cents, made.at(11, "upper")) == (11, 1.25, None)


def test_asking_for_more_rows_judges_nothing_yet(maker):
    given = opened(maker, NEW_COMB) | {"title": "", "length_1": "abc", "holes": "16", "apply": "1"}
    answer = maker.post(NEW_COMB, given)
    assert answer.status_code == 200
    assert faults(answer) == {}
    assert shown(answer)["length_1"] == "abc"
    assert shown(answer)["length_16"] == ""


def test_a_comb_with_chambers_missing_is_not_taken_and_shows_them(maker):
    given = opened(maker, NEW_COMB) | {"title": "Twelve", "holes": "12"}
    answer = maker.post(NEW_COMB, given)
    assert answer.status_code == 422
    missing = {f"{what}_{n}" for what in ("length", "width", "depth") for n in (11, 12)}
    assert set(faults(answer)) == missing
    assert not Design.objects.exists()


def test_a_comb_is_made_from_a_copy_with_all_its_numbers(maker):
    given = opened(maker, NEW_COMB) | {
        "title": "Long comb", "length_1": "18.125", "upper_mount": "front", "lower_clear": "0",
        "part_4": "kit box", "count_4": "0", "part_0": "", "count_0": "",
    }  # fmt: skip
    assert maker.post(NEW_COMB, given).status_code == 302
    comb = queries.comb("long-comb")
    assert comb.chambers[0].length_mm == 18.125
    assert comb.chambers[1:] == default_comb().chambers[1:]
    assert (comb.upper.mount, comb.lower.cover_clear_mm) == ("front", 0.0)
    assert dict(comb.parts) == {"cover": 2, "screw": 4, "gasket": 20, "kit box": 0}


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"length_2": "80.01"}, "length_2", "out of range; above 0 and up to 80"),
        ({"length_2": "0"}, "length_2", "out of range; above 0"),
        ({"length_2": ""}, "length_2", "required"),
        ({"length_2": "nan"}, "length_2", "is no number"),
        ({"length_2": "1e1"}, "length_2", "is no number"),
        ({"margin": "9", "length_2": "9"}, "length_2", "leaves no room beside the end margin"),
        ({"margin": "-1"}, "margin", "out of range; 0 to 10"),
        ({"width_3": "31"}, "width_3", "up to 30"),
        ({"upper_clear": "31"}, "upper_clear", "0 to 30"),
        ({"length_2": "16.30000000000000000001"}, "length_2", "more digits than can be kept; 16.3"),
        ({"count_1": ""}, "count_1", "how many one instrument uses"),
        ({"count_1": "2.5"}, "count_1", "whole number"),
        ({"count_1": "1001"}, "count_1", "0 to 1000"),
        ({"part_5": "screw", "count_5": "1"}, "part_5", "screw is given twice"),
        ({"count_5": "1"}, "part_5", "what the part is called"),
        ({"title": "Ten-Chamber Comb"}, "title", "is in the catalogue"),
    ],
)
def test_a_wrong_comb_is_said_beside_its_field_and_kept_as_typed(maker, typed, field, said):
    given = opened(maker, NEW_COMB) | {"title": "Mine"} | typed
    answer = maker.post(NEW_COMB, given)
    assert answer.status_code == 422
    assert said in " ".join(faults(answer)[field])
    kept = shown(answer)
    assert {name: kept[name] for name in given} == given
    assert not Design.objects.exists()


def test_saving_a_form_as_it_opens_changes_nothing_and_keeps_a_files_comments(maker):
    comb = make(COMB, "# measured in spring\n" + comb_toml(short_comb()))
    layout = make(LAYOUT, "# mine\n" + layout_toml(catalogue_layout("circular")).replace(
        "Circular", "Low drone"))  # fmt: skip
    for address, design in ((EDIT_COMB, comb), (EDIT_LAYOUT, layout)):
        assert "came from a file" in text(maker.get(address))
        answer = maker.post(address, opened(maker, address), follow=True)
        assert "Nothing was changed" in text(answer)
        design.refresh_from_db()
        assert design.version == 1
        assert design.toml.startswith("#")


def test_a_change_in_the_form_writes_the_next_version_and_keeps_the_one_before(maker):
    comb = make(COMB, "# measured in spring\n" + comb_toml(short_comb()))
    answer = maker.post(EDIT_COMB, opened(maker, EDIT_COMB) | {"depth_1": "5.3"}, follow=True)
    assert "Saved as version 2" in text(answer)
    comb.refresh_from_db()
    assert parse_comb(comb.toml, name="x").value.chambers[0].depth_mm == 5.3
    assert "# measured" not in comb.toml
    first, second = comb.versions.order_by("number")
    assert first.toml.startswith("# measured in spring")
    assert (second.toml, second.made_by.name, second.what) == (comb.toml, "maker", "edited")


def test_a_number_of_many_digits_is_shown_and_saved_with_all_of_them(maker):
    odd = comb_toml(short_comb()).replace("length_mm = 16.0", "length_mm = 16.012345678901234")
    make(COMB, odd)
    given = opened(maker, EDIT_COMB)
    assert given["length_1"] == "16.012345678901234"
    maker.post(EDIT_COMB, given | {"depth_1": "5.3"})
    assert queries.comb("short-comb").chambers[0].length_mm == 16.012345678901234


@pytest.mark.parametrize(("language", "typed"), [("de", "16,125"), ("en", "16.125")])
def test_numbers_are_written_as_the_readers_language_writes_them(maker, language, typed):
    make(COMB, comb_toml(short_comb()).replace("length_mm = 16.0", "length_mm = 16.125"))
    answer = maker.get(EDIT_COMB, headers={"accept-language": language})
    given = fields_of(answer.content.decode().split("<main")[1])
    assert given["length_1"] == typed
    given["depth_1"] = typed.replace("16", "4")
    answer = maker.post(EDIT_COMB, given, headers={"accept-language": language})
    assert answer.status_code == 302
    chamber = queries.comb("short-comb").chambers[0]
    assert (chamber.length_mm, chamber.depth_mm) == (16.125, 4.125)


def test_who_saves_second_is_told_keeps_what_was_typed_and_may_save_over_it(maker):
    a_layout()
    mine = opened(maker, EDIT_LAYOUT) | {"note_1_upper": "B3"}
    maker.post(EDIT_LAYOUT, opened(maker, EDIT_LAYOUT) | {"note_2_upper": "F4"})
    answer = maker.post(EDIT_LAYOUT, mine)
    assert answer.status_code == 422
    assert "Somebody else has changed this" in text(answer)
    assert "Version 2 was saved since" in text(answer)
    kept = shown(answer)
    assert kept["note_1_upper"] == "B3"
    assert queries.layout("low-drone").at(1, "upper").midi == 60
    assert maker.post(EDIT_LAYOUT, kept).status_code == 302
    assert queries.layout("low-drone").at(1, "upper").midi == 59
    assert Design.objects.get().version == 3


def test_a_seen_version_that_is_no_number_is_taken_for_the_one_there_is(maker):
    a_layout()
    given = opened(maker, EDIT_LAYOUT) | {"seen": "x'", "note_1_upper": "B3"}
    assert maker.post(EDIT_LAYOUT, given).status_code == 302


def test_the_title_may_change_and_the_name_in_lists_stays(maker):
    a_layout()
    maker.post(EDIT_LAYOUT, opened(maker, EDIT_LAYOUT) | {"title": "Deep drone"})
    design = Design.objects.get()
    assert (design.code, design.title) == ("low-drone", "Deep drone")
    assert parse_layout(design.toml, name="x").value.title == "Deep drone"


def test_what_is_typed_is_never_taken_for_a_tag(maker):
    given = opened(maker, NEW_LAYOUT) | {"title": "<script>alert(1)</script>"}
    maker.post(NEW_LAYOUT, given)
    code = Design.objects.get().code
    for page in ("/designs/", reverse("designs:layout", args=[code])):
        assert b"<script>alert" not in maker.get(page).content


def test_the_unseen_first_button_saves_so_that_the_enter_key_does(maker):
    first = maker.get(NEW_COMB).content.decode().split("<main")[1].split("<button")[1]
    assert "name=" not in first.split(">")[0]


def test_combs_of_one_title_as_a_layout_are_no_trouble(maker):
    a_layout("Short comb")
    a_comb("Short comb")
    assert Design.objects.count() == 2
