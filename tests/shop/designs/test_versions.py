"""What a design was: nothing is edited away, and anything can be brought back."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Barrier

import pytest
from django.db import connections

from combwright.comb.default_comb import default_comb
from combwright.comb.layouts import Layout
from combwright.files.combs import comb_toml
from combwright.files.layouts import layout_toml, parse_layout
from combwright.shop.designs import actions, queries
from combwright.shop.designs.models import Design, DesignVersion
from combwright.shop.designs.texts import read
from combwright.shop.designs.usual import consequences
from shop.designs.drafts import (
    COMB,
    LAYOUT,
    WORKSHOP,
    a_comb,
    a_layout,
    fields_of,
    make,
    opened,
    short_comb,
    somebody,
    text,
)

data = pytest.mark.data
pytestmark = pytest.mark.django_db


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


def said(kind, text):
    return read(kind, text, name="draft.toml")


def edited(design, about, seen=None):
    layout = parse_layout(Design.objects.get(pk=design.pk).toml, name="x").value
    text = layout_toml(replace(layout, about=about))
    return actions.save(somebody(), design, seen or design.version, said(LAYOUT, text))


def agreed_to(before, after):
    return consequences(before, after).seal


@data
def test_every_save_is_a_version_and_none_is_changed():
    design = a_layout()
    first = design.versions.get().toml
    design = edited(design, "one")
    design = edited(design, "two")
    rows = list(design.versions.order_by("number").values_list("number", "what"))
    assert rows == [(1, "made"), (2, "edited"), (3, "edited")]
    assert design.versions.get(number=1).toml == first
    assert design.versions.get(number=3).toml == Design.objects.get().toml


@data
def test_a_save_of_what_there_is_writes_no_version():
    design = a_layout()
    assert actions.save(somebody(), design, 1, said(LAYOUT, design.toml)).version == 1
    assert DesignVersion.objects.count() == 1


@data
def test_an_earlier_version_comes_back_as_a_new_one(maker):
    design = edited(a_layout(), "worse")
    first = design.versions.get(number=1)
    page = maker.get("/designs/layouts/low-drone/versions/1/")
    kept = fields_of(page.content.decode().split("<main")[1])
    assert maker.post("/designs/layouts/low-drone/versions/1/", kept).status_code == 302
    design.refresh_from_db()
    assert (design.version, design.toml) == (3, first.toml)
    assert "an earlier version brought back: 1" in text(
        maker.get("/designs/layouts/low-drone/versions/")
    )


def test_the_version_that_is_now_cannot_be_brought_back(maker):
    a_layout()
    page = text(maker.get("/designs/layouts/low-drone/versions/1/"))
    assert "as it is now" in page
    assert "Bring it back" not in page


def test_a_version_shows_which_lines_changed(maker):
    edited(a_layout(), "for slow airs")
    lines = maker.get("/designs/layouts/low-drone/versions/2/").context["lines"]
    assert [line.text for line in lines if line.sign == "+"] == ['about = "for slow airs"']
    assert len([line for line in lines if line.sign == "-"]) == 1


def test_a_version_that_was_seen_too_early_is_not_brought_back_unasked(maker):
    design = edited(a_layout(), "one")
    edited(design, "two")
    answer = maker.post("/designs/layouts/low-drone/versions/1/", {"seen": "2"})
    assert answer.status_code == 422
    assert "Somebody else has changed this" in text(answer)
    assert Design.objects.get().version == 3


def test_a_brought_back_title_that_another_one_has_by_now_is_refused(maker):
    design = a_layout("Low drone")
    address = "/designs/layouts/low-drone/edit/"
    maker.post(address, opened(maker, address) | {"title": "High drone"})
    a_layout("Low drone", code="newcomer")
    answer = maker.post("/designs/layouts/low-drone/versions/1/", {"seen": "2"})
    assert answer.status_code == 422
    assert "Another one is called Low drone" in text(answer)
    design.refresh_from_db()
    assert design.title == "High drone"


@data
def test_a_retired_layout_is_in_no_list_but_still_meant(maker):
    a_layout()
    maker.post("/designs/layouts/low-drone/retire/")
    assert not any(each.own for each in queries.layouts())
    assert isinstance(queries.layout("Low_Drone"), Layout)
    assert "retired" in text(maker.get("/designs/layouts/"))
    with pytest.raises(actions.NameTaken, match="A retired one is called Low drone"):
        a_layout(code="another")
    maker.post("/designs/layouts/low-drone/use/")
    assert any(each.code == "low-drone" for each in queries.layouts())
    whats = Design.objects.get().versions.values_list("what", flat=True)
    assert list(whats) == ["in use again", "retired", "made"]


@data
def test_until_the_shop_names_one_the_shipped_comb_is_usual():
    a_comb()
    assert queries.usual_comb() == default_comb()
    assert [each.usual for each in queries.combs()] == [False, True]


@data
def test_a_comb_becomes_usual_only_for_who_saw_what_that_changes(maker):
    a_comb()
    address = "/designs/combs/short-comb/usual/"
    page = maker.get(address)
    assert "Hole 1 takes slots of up to 15.8 mm; until now up to 16.8 mm." in text(page)
    assert maker.post(address).status_code == 422
    assert queries.usual_comb() == default_comb()
    kept = fields_of(page.content.decode().split("<main")[1])
    assert maker.post(address, kept).status_code == 302
    assert queries.usual_comb() == short_comb()
    assert Design.objects.get().versions.first().what == "made usual"


@data
def test_there_is_one_usual_comb_and_the_shipped_one_can_be_it_again():
    person = somebody()
    a_comb("One")
    a_comb("Two", less_mm=2.0)
    one, two = queries.comb("one"), queries.comb("two")
    actions.make_usual(person, "one", agreed_to(default_comb(), one))
    actions.make_usual(person, "two", agreed_to(one, two))
    assert list(Design.objects.filter(usual=True).values_list("code", flat=True)) == ["two"]
    actions.make_usual(person, queries.SHIPPED_COMB, agreed_to(two, default_comb()))
    assert queries.usual_comb() == default_comb()
    whats = Design.objects.get(code="one").versions.values_list("what", flat=True)
    assert list(whats) == ["no longer usual", "made usual", "made"]


@data
def test_the_usual_comb_is_not_retired_and_a_retired_one_not_made_usual():
    person, comb = somebody(), a_comb()
    seal = agreed_to(default_comb(), short_comb())
    actions.make_usual(person, "short-comb", seal)
    with pytest.raises(actions.NotSo, match="make another one usual first"):
        actions.retire(person, comb)
    actions.make_usual(person, queries.SHIPPED_COMB, agreed_to(short_comb(), default_comb()))
    actions.retire(person, comb)
    with pytest.raises(actions.NotSo, match="is retired"):
        actions.make_usual(person, "short-comb", seal)


def test_a_change_of_the_usual_combs_fit_is_shown_first_and_saved_when_agreed_to(maker):
    a_comb()
    actions.make_usual(somebody(), "short-comb", agreed_to(default_comb(), short_comb()))
    address = "/designs/combs/short-comb/edit/"
    typed = opened(maker, address) | {"length_3": "14.9", "upper_mount": "rear"}
    answer = maker.post(address, typed)
    assert answer.status_code == 422
    assert "Hole 3 takes slots of up to 14.7 mm; until now up to 14.4 mm." in text(answer)
    assert "The upper deck takes plates mounted at the rear; until now at either end." in text(
        answer
    )
    assert queries.usual_comb() == short_comb()
    kept = fields_of(answer.content.decode().split("<main")[1])
    assert maker.post(address, kept).status_code == 422  # the box was not ticked
    seal = answer.context["saving"].consequences.seal
    other = maker.post(address, kept | {"agreed": seal, "length_3": "14.8"})
    assert other.status_code == 422  # agreed to something else
    assert maker.post(address, kept | {"agreed": seal}).status_code == 302
    assert queries.usual_comb().takes_mm(3) == 14.7


def test_a_change_of_the_usual_comb_that_fits_the_same_plates_is_saved_at_once(maker):
    a_comb()
    actions.make_usual(somebody(), "short-comb", agreed_to(default_comb(), short_comb()))
    address = "/designs/combs/short-comb/edit/"
    assert maker.post(address, opened(maker, address) | {"depth_3": "5"}).status_code == 302


def test_the_rack_asks_what_fits_of_the_usual_comb(maker):
    from combwright.shop.rack import sets

    a_comb("Eight", holes=8)
    actions.make_usual(somebody(), "eight", agreed_to(default_comb(), queries.comb("eight")))
    which = {"key": "C", "batch": "b1", "place": "A-1", "cost": 1}
    proposed = sets.proposal(which)
    assert [each["slot"] for each in proposed][:2] == [15.8, 15.8]
    assert len(proposed) == 20  # a set has ten holes, whatever the comb has


def test_own_names_come_before_those_a_later_catalogue_may_bring():
    design = a_layout()
    Design.objects.filter(pk=design.pk).update(code="circular")
    assert queries.layout("circular").title == "Low drone"
    assert [each.own for each in queries.layouts() if each.code == "circular"] == [True]


@pytest.mark.parametrize("ask", [queries.layout, queries.comb])
def test_a_name_that_nobody_has_is_said_with_the_nearest(ask):
    a_layout()
    a_comb()
    with pytest.raises(queries.NoSuchDesign, match=r"there is .*(low-drone|short-comb)"):
        ask("low-dron" if ask is queries.layout else "short comp")


def test_each_look_up_is_one_question(django_assert_num_queries):
    a_layout()
    a_comb()
    asks = (
        queries.usual_comb, queries.layouts, queries.combs, queries.workshop,
        lambda: queries.layout("low-drone"), lambda: queries.comb("short-comb"),
    )  # fmt: skip
    for ask in asks:
        with django_assert_num_queries(1):
            ask()


def together(*acts):
    """Do several things at once; return what each gave or raised."""
    gate = Barrier(len(acts))

    def do(act):
        try:
            gate.wait(20)
            return act()
        except actions.NotSo as error:
            return error
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(do, acts))


@data
@pytest.mark.django_db(transaction=True)
def test_of_two_who_save_at_once_one_is_told():
    design, person = a_layout(), somebody()
    base = parse_layout(design.toml, name="x").value
    acts = [
        (lambda about=about: actions.save(
            person, design, 1, said(LAYOUT, layout_toml(replace(base, about=about)))))
        for about in ("one", "two", "three")
    ]  # fmt: skip
    answers = together(*acts)
    assert sum(isinstance(each, actions.ChangedMeanwhile) for each in answers) == 2
    assert Design.objects.get().version == 2
    assert DesignVersion.objects.count() == 2


@data
@pytest.mark.django_db(transaction=True)
def test_of_two_who_make_one_name_at_once_one_is_told():
    person = somebody()
    answers = together(*[lambda: a_comb(person=person)] * 3)
    assert sum(isinstance(each, actions.NameTaken) for each in answers) == 2
    assert Design.objects.count() == DesignVersion.objects.count() == 1


@data
@pytest.mark.django_db(transaction=True)
def test_of_two_who_write_the_first_numbers_at_once_one_is_told():
    person = somebody()
    texts = ["[labels]\nrows = 7\n", "[labels]\nrows = 9\n"]
    acts = [
        (lambda t=t: actions.save_workshop(person, 0, said(WORKSHOP, t), what="edited"))
        for t in texts
    ]
    answers = together(*acts)
    assert sum(isinstance(each, actions.ChangedMeanwhile) for each in answers) == 1
    assert queries.workshop().labels.rows in (7, 9)


@data
@pytest.mark.django_db(transaction=True)
def test_of_two_who_make_combs_usual_at_once_the_second_sees_what_it_changes_then():
    person = somebody()
    combs = {"one": 1.0, "two": 2.0}
    for code, less_mm in combs.items():
        make(COMB, comb_toml(short_comb(code, less_mm=less_mm)))
    acts = [
        (lambda code=code: actions.make_usual(
            person, code, agreed_to(default_comb(), queries.comb(code))))
        for code in combs
    ]  # fmt: skip
    answers = together(*acts)
    assert sum(isinstance(each, actions.UsualWouldChange) for each in answers) == 1
    assert Design.objects.filter(usual=True).count() == 1
