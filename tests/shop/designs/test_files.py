"""Designs as TOML files: taken in as they stand or not at all."""

import pytest

from combwright.comb.catalogue import catalogue_layout, layout_ids
from combwright.comb.default_comb import default_comb
from combwright.files.combs import comb_toml, parse_comb
from combwright.files.layouts import layout_toml, parse_layout
from combwright.shop.designs import queries
from combwright.shop.designs.models import Design
from shop.designs.drafts import a_comb, a_file, a_layout, fields_of, short_comb, somebody, text

pytestmark = pytest.mark.django_db
NEW = "/designs/layouts/upload/"
DRONE = "# for slow airs\r\ntitle = 'Drone' # mine\r\nblow = ['C3']\r\ndraw = ['G3']\r\n"


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


@pytest.mark.parametrize("code", layout_ids())
def test_every_layout_of_the_catalogue_can_be_downloaded_and_read_back(maker, code):
    answer = maker.get(f"/designs/layouts/{code}/toml/")
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{code}.toml"'
    read = parse_layout(answer.content.decode(), name="x.toml").value
    assert read == catalogue_layout(code)


def test_the_shipped_comb_can_be_downloaded_and_read_back(maker):
    text = maker.get("/designs/combs/ten-chamber/toml/").content.decode()
    assert parse_comb(text, name="x.toml").value == default_comb()


def test_a_file_is_kept_to_the_last_sign_its_comments_too(maker):
    answer = maker.post(NEW, {"file": a_file(DRONE)}, follow=True)
    assert "Drone is taken in" in text(answer)
    assert maker.get("/designs/layouts/drone/toml/").content.decode() == DRONE
    assert queries.layout("drone").at(1, "upper").midi == 48


def test_a_file_with_a_byte_order_mark_is_read(maker):
    assert maker.post(NEW, {"file": a_file("\ufeff" + DRONE)}).status_code == 302


def test_a_file_without_a_title_is_called_as_the_file_and_the_text_says_so(maker):
    maker.post(NEW, {"file": a_file("blow = ['C3']\ndraw = ['G3']\n", "low one.toml")})
    design = Design.objects.get()
    assert (design.title, design.code) == ("low one", "low-one")
    assert design.toml.startswith('title = "low one"\nblow')


def test_a_file_may_be_given_the_name_that_orders_call_it(maker):
    maker.post(NEW, {"file": a_file(DRONE), "code": "Slow Airs"})
    assert Design.objects.get().code == "slow-airs"


@pytest.mark.parametrize(
    ("sent", "lines"),
    [
        ("blow = ['H4']\ndraw = ['X', 'D4']\n", 3),
        ("title = 'x\n", 1),
        ("title = ''\n", 1),
        ("title = '   '\n", 1),
        (b"\xff\xfe\x00", 1),
        (b"title = 'a\x00b'\n", 1),
        ("[[seat]]\nhole = 40\nbreath = 'sigh'\npitch = 'C4'\n", 2),
        ("a = " + "[" * 5000, 1),
        (b"", 0),
    ],
)
def test_a_bad_file_is_not_taken_in_and_every_problem_is_said(maker, sent, lines):
    answer = maker.post(NEW, {"file": a_file(sent, "bad.toml"), "code": "kept"})
    assert answer.status_code == 422
    assert len(answer.context["problems"]) == lines
    assert all(line.startswith("bad.toml") for line in answer.context["problems"])
    assert fields_of(answer.content.decode().split("<main")[1])["code"] == "kept"
    assert not Design.objects.exists()


def test_a_file_of_more_than_a_mebibyte_is_refused(maker):
    answer = maker.post(NEW, {"file": a_file("#" * (2**20 + 1))})
    assert "The file has 1.0 MiB; the most is 1 MiB" in text(answer)
    assert answer.status_code == 422


def test_no_file_at_all_is_said(maker):
    assert "Choose a file" in text(maker.post(NEW, {}))


def test_a_comb_is_no_layout_and_a_layout_no_comb(maker):
    answer = maker.post("/designs/combs/upload/", {"file": a_file(DRONE)})
    assert "chamber: there are 0 of them" in " ".join(answer.context["problems"])


def test_a_title_that_is_taken_is_said_and_the_file_need_not_be_chosen_again(maker):
    a_layout("Drone")
    answer = maker.post(NEW, {"file": a_file(DRONE)})
    assert answer.status_code == 422
    assert "Another one is called Drone" in text(answer)
    assert "mine.toml is still here" in text(answer)
    Design.objects.filter(title="Drone").update(title="Other", title_key="other", code="other")
    kept = fields_of(answer.content.decode().split("<main")[1])
    assert maker.post(NEW, kept).status_code == 302
    assert Design.objects.get(code="drone").toml == DRONE.replace("\r\n", "\n")


def test_another_file_is_taken_in_place_of_the_one_that_came_along(maker):
    a_layout("Drone")
    kept = fields_of(maker.post(NEW, {"file": a_file(DRONE)}).content.decode().split("<main")[1])
    bad = maker.post(NEW, kept | {"file": a_file("title = 3\n", "bad.toml")})
    assert bad.status_code == 422
    assert fields_of(bad.content.decode().split("<main")[1])["text"] == ""


def test_a_file_replaces_a_design_as_its_next_version(maker):
    a_layout("Drone")
    maker.post("/designs/layouts/drone/replace/", {"file": a_file(DRONE), "seen": "1"})
    design = Design.objects.get()
    assert (design.version, design.toml) == (2, DRONE)
    assert [v.what for v in design.versions.all()] == ["taken in", "made"]


def test_a_file_for_a_design_that_changed_meanwhile_is_told_and_kept(maker):
    a_layout("Drone")
    other = layout_toml(catalogue_layout("circular")).replace("Circular", "Drone")
    maker.post("/designs/layouts/drone/replace/", {"file": a_file(other), "seen": "1"})
    answer = maker.post("/designs/layouts/drone/replace/", {"file": a_file(DRONE), "seen": "1"})
    assert answer.status_code == 422
    assert "Somebody else has changed this" in text(answer)
    kept = fields_of(answer.content.decode().split("<main")[1])
    assert maker.post("/designs/layouts/drone/replace/", kept).status_code == 302
    assert Design.objects.get().version == 3


def test_keys_that_nobody_knows_are_named_and_kept_in_the_text(maker):
    answer = maker.post(NEW, {"file": a_file(DRONE + "colour = 'red'\n")}, follow=True)
    assert "not known and left out: colour" in text(answer)
    assert "colour" in Design.objects.get().toml


def test_what_is_downloaded_can_be_taken_in_again_unchanged(maker):
    a_comb()
    file = maker.get("/designs/combs/short-comb/toml/").content
    answer = maker.post("/designs/combs/short-comb/replace/", {"file": a_file(file)}, follow=True)
    assert "Nothing was changed" in text(answer)
    assert comb_toml(short_comb()).encode() == file
