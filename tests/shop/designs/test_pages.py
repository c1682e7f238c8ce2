import pytest
from django.urls import reverse

from combwright.comb.catalogue import layout_ids
from combwright.shop.designs import urls
from combwright.shop.designs.models import Design
from combwright.shop.people.roles import Role
from shop.designs.drafts import LAYOUT, a_comb, a_layout, make, somebody, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client):
    client.force_login(somebody("owner"))
    return client


PAGES = [
    ("list", []), ("layout", ["standard"]), ("layout", ["low-drone"]), ("comb", ["ten-chamber"]),
    ("comb", ["short-comb"]), ("workshop", []), ("layout-all", []), ("comb-all", []),
    ("layout-toml", ["standard"]), ("comb-toml", ["short-comb"]), ("workshop-toml", []),
    ("layout-versions", ["low-drone"]), ("layout-version", ["low-drone", 1]),
    ("comb-version", ["short-comb", 1]),
]  # fmt: skip


@pytest.mark.parametrize("role", list(Role))
def test_everyone_may_look_at_every_page(client, role):
    client.force_login(somebody(role))
    a_layout()
    a_comb()
    for name, args in PAGES:
        assert client.get(reverse(f"designs:{name}", args=args)).status_code == 200, name


CHANGES = [
    ("layout-new", [], "get"), ("layout-new", [], "post"), ("layout-edit", ["low-drone"], "get"),
    ("layout-edit", ["low-drone"], "post"), ("layout-upload", [], "get"),
    ("layout-upload", [], "post"), ("layout-replace", ["low-drone"], "post"),
    ("layout-retire", ["low-drone"], "post"), ("layout-use", ["low-drone"], "post"),
    ("layout-version", ["low-drone", 1], "post"), ("comb-new", [], "post"),
    ("comb-edit", ["short-comb"], "get"), ("comb-edit", ["short-comb"], "post"),
    ("comb-upload", [], "post"), ("comb-replace", ["short-comb"], "post"),
    ("comb-retire", ["short-comb"], "post"), ("comb-use", ["short-comb"], "post"),
    ("comb-version", ["short-comb", 1], "post"), ("comb-usual", ["short-comb"], "get"),
    ("comb-usual", ["short-comb"], "post"), ("workshop-edit", [], "get"),
    ("workshop-edit", [], "post"), ("workshop-replace", [], "post"),
]  # fmt: skip
MAKERS = {"owner", "maker"}


@pytest.mark.parametrize("role", list(Role))
def test_only_the_owner_and_makers_change_designs(client, role):
    client.force_login(somebody(role))
    a_layout(person=somebody("owner"))
    a_comb(person=somebody("owner"))
    for name, args, method in CHANGES:
        before = list(Design.objects.order_by("pk").values())
        answer = getattr(client, method)(reverse(f"designs:{name}", args=args), {})
        assert (answer.status_code != 403) == (role in MAKERS), (name, method)
        if role not in MAKERS:
            assert list(Design.objects.order_by("pk").values()) == before


def test_no_page_is_missing_from_the_tables():
    tried = {name for name, *_ in (*PAGES, *CHANGES)} | {"workshop-versions", "workshop-version"}
    tried |= {"comb-versions"}
    assert tried == {each.name for each in urls.urlpatterns}


@pytest.mark.parametrize("name", ["layout-retire", "layout-use"])
def test_what_changes_something_is_never_done_by_a_link(owner, name):
    a_layout()
    assert owner.get(reverse(f"designs:{name}", args=["low-drone"])).status_code == 405


def test_those_who_only_look_are_offered_no_change(client):
    client.force_login(somebody("packer"))
    a_layout(person=somebody("owner"))
    for page in ("/designs/", "/designs/layouts/low-drone/", "/designs/combs/ten-chamber/",
                 "/designs/workshop/", "/designs/layouts/low-drone/versions/1/"):  # fmt: skip
        said = client.get(page).content.decode()
        for word in ("edit/", "new/", "upload/", "replace/", "retire/", "usual/"):
            assert f"{word}" not in said.split("<main")[1], (page, word)


def test_every_layout_of_the_catalogue_is_drawn_in_the_chosen_key(owner):
    page = owner.get("/designs/", {"key": "A"})
    assert [card.known.code for card in page.context["shipped"]] == list(layout_ids())
    assert page.content.decode().count("<svg") == len(layout_ids())
    card = page.context["shipped"][0]
    # The standard layout in A: the notes of its C form (OEIS A291810) three semitones down.
    assert card.blow == "A3 C#4 E4 A4 C#5 E5 A5 C#6 E6 A6"
    assert card.draw == "B3 E4 G#4 B4 D5 F#5 G#5 B5 D6 F#6"


@pytest.mark.parametrize("key", ["", "X", "C; drop", "high  F"])
def test_a_key_that_there_is_not_is_said_and_c_is_shown(owner, key):
    page = owner.get("/designs/layouts/standard/", {"key": key})
    assert page.context["key"] == "C"
    assert bool(page.context["key_form"].errors) == bool(key)


def test_a_layout_says_its_bends_and_what_it_gains_and_loses(owner):
    page = owner.get("/designs/layouts/fifth-draw-raised/")
    rows = {row.hole: row for row in page.context["rows"]}
    # Common practice, as `tests/reference/standard_bends.csv` has it for the standard layout.
    assert rows[2].bends == "F#4, F4"
    assert rows[5].bends == "F5"
    against = page.context["against"]
    assert against.reeds == ("5 draw: F5 becomes F#5",)
    assert against.gained == ("F#5: natural here, an overbend there",)
    assert against.lost == ("F5: a bend here, natural there",)
    assert against.bends_gained == ("5 draw bends to F5",)
    assert against.bends_lost == ()


def test_another_name_of_a_layout_of_the_catalogue_opens_it(owner):
    assert "Standard" in text(owner.get("/designs/layouts/richter/"))


def test_the_drawing_is_put_into_words_too(owner):
    page = owner.get("/designs/layouts/standard/").content.decode()
    assert 'role="img"' in page
    assert "Hole 2: upper deck E4, blow, facing in; lower deck G4, draw, facing out" in page


def test_a_layout_with_more_holes_than_the_usual_comb_is_drawn_whole_and_said_so(owner):
    make(LAYOUT, f"title = 'Twelve'\nblow = {['C4'] * 12}\ndraw = {['D4'] * 12}\n")
    page = owner.get("/designs/layouts/twelve/")
    assert "has 10 chambers and this layout 12 holes: it is drawn on chambers" in text(page)
    assert page.content.decode().count('class="seat upper"') == 12


def test_a_layout_without_a_single_reed_can_be_looked_at(owner):
    make(LAYOUT, "title = 'Nothing'\n")
    page = owner.get("/designs/layouts/nothing/", {"key": "low G"})
    assert "empty" in text(page)
    assert owner.get("/designs/").status_code == 200


def test_a_comb_shows_what_each_chamber_takes(owner):
    page = owner.get("/designs/combs/ten-chamber/")
    assert [row.takes for row in page.context["rows"]][:3] == ["16.8", "16.1", "15.4"]
    assert "Hole 1: 17 mm long, 4.6 mm wide, 5.2 mm deep." in page.content.decode()


@pytest.mark.parametrize("page", ["layouts/nowhere/", "combs/nowhere/", "layouts/nowhere/edit/",
    "combs/ten-chamber/edit/", "layouts/standard/edit/", "layouts/nowhere/toml/",
    "layouts/standard/versions/", "layouts/new/?from=nowhere", "combs/nowhere/usual/",
    "workshop/versions/1/"])  # fmt: skip
def test_what_there_is_not_is_not_found(owner, page):
    assert owner.get(f"/designs/{page}").status_code == 404


@pytest.mark.parametrize("page", ["/designs/", "/designs/layouts/", "/designs/combs/"])
def test_lists_ask_a_constant_number_of_questions(owner, page, django_assert_max_num_queries):
    a_layout("First")
    a_comb("First")
    with django_assert_max_num_queries(6) as few:
        owner.get(page)
    for n in range(30):
        a_layout(f"Layout {n}")
        a_comb(f"Comb {n}")
    with django_assert_max_num_queries(6) as many:
        owner.get(page)
    assert len(few) == len(many)


def test_more_own_layouts_than_are_drawn_are_a_page_further_on(owner):
    for n in range(14):
        a_layout(f"Layout {n}")
    page = owner.get("/designs/")
    assert len(page.context["own"]) == 12
    assert "2 more, and retired ones" in text(page)
    assert "Layout 13" in text(owner.get("/designs/layouts/"))
