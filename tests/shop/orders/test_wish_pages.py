"""The designer without JavaScript: every edit is a form that is posted, every seat a link."""

import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.seats import BREATHS
from combwright.notes.names import note_name
from combwright.shop.designs import actions as design_actions
from combwright.shop.designs.texts import read
from combwright.shop.orders import actions
from combwright.shop.orders.models import Nickname
from combwright.shop.orders.wish_drafts import MOST_STATES
from shop.orders.desk import Page, a_wish, at_the_desk
from shop.plans.days import a_set
from shop.rack.shelves import somebody

pytestmark = pytest.mark.django_db
EVERYTHING = {
    "key": "C", "what": "instrument", "quantity": "1", "kit": "", "temperament": "equal",
    "a4": "440", "comb": "",
}  # fmt: skip


@pytest.fixture
def desk():
    return Page(at_the_desk(), a_wish())


@pytest.mark.data
@pytest.mark.parametrize(
    ("do", "said", "changes"),
    [
        ("up", {}, "5 draw=F#5"),
        ("down", {}, "5 draw=E5"),
        ("pitch", {"note": "Gb5-2,5"}, "5 draw=F#5-2.5"),
        ("turn", {}, "5 lower=F5 blow"),
        ("empty", {}, "5 draw=none"),
        ("move", {"to": "10-upper"}, "5 lower=C7 blow; 10 upper=F5 draw"),
    ],
)
def test_each_edit_of_a_seat_is_a_plain_form(desk, do, said, changes):
    answer = desk.post(do, **said)
    assert answer.redirect_chain == [(f"{desk.address}?seat=5-lower", 302)]
    assert desk.facts.changes == changes
    assert desk.stored.changes == ""
    desk.post("save")
    assert desk.stored.changes == changes
    assert not desk.get().context["draft"].changed


def test_every_seat_is_a_link_that_says_what_is_in_it(desk):
    page = desk.get(seat="5-lower").content.decode()
    assert page.count('class="seat-link"') == 20
    assert 'aria-label="5 lower: F5, draw' in page
    assert page.count('aria-current="true"') == page.count('id="seat-5-lower"') + 1  # and the room
    assert "Seat 5 lower" in page


def test_undo_and_redo_go_through_the_states(desk):
    desk.post("up")
    desk.post("up")
    desk.post("undo")
    assert desk.facts.changes == "5 draw=F#5"
    desk.post("undo")
    desk.post("undo")
    assert desk.facts.changes == ""
    desk.post("redo")
    desk.post("redo")
    assert desk.facts.changes == "5 draw=G5"
    desk.post("undo")
    desk.post("down")
    assert not desk.get().context["draft"].can_redo


def test_a_draft_keeps_so_many_states_and_always_the_first(desk):
    for _ in range(MOST_STATES // 2 + 5):
        desk.post("turn")
        desk.post("up")
        desk.post("down")
    draft = desk.get().context["draft"]
    assert len(draft.states) == MOST_STATES
    assert draft.states[0].changes == ""


def test_dropping_the_changes_shows_what_is_stored(desk):
    desk.post("up")
    desk.post("discard")
    assert desk.facts.changes == ""
    assert not desk.get().context["draft"].can_redo


def test_a_start_from_a_layout_in_a_key_takes_its_seats(desk):
    desk.post("up")
    desk.post("start", layout="country", key="bb")
    assert (desk.facts.layout, desk.facts.key, desk.facts.changes) == (
        "fifth-draw-raised", "Bb", "",
    )  # fmt: skip


def test_a_nickname_with_two_meanings_asks_which(desk):
    for layout in ("natural-minor", "harmonic-minor"):
        Nickname.objects.create(word="the sad one", layout=layout)
    answer = desk.post("start", layout="the sad one", key="A")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert 'name="layout" value="harmonic-minor"' in page
    assert 'name="layout" value="natural-minor"' in page
    desk.post("start", layout="natural-minor", key="A")
    assert (desk.facts.layout, desk.facts.key) == ("natural-minor", "A")


def test_two_lines_of_notes_become_the_nearest_layout_and_what_is_left_to_change(desk):
    country = catalogue_layout("fifth-draw-raised")
    blow, draw = (
        " ".join(note_name(s.midi) for s in country.seats if s.breath == breath)
        for breath in BREATHS
    )
    desk.post("notes", blow=blow, draw=draw, written="c")
    assert (desk.facts.layout, desk.facts.changes) == ("fifth-draw-raised", "")
    desk.post("notes", blow=blow.replace("G4", "A4", 1), draw=draw, written="c")
    assert desk.facts.changes.count("=") <= 1
    assert desk.post("notes", blow="C4 E4", draw="D4", written="c").status_code == 422


def test_another_key_moves_changed_seats_and_kit_along(desk):
    desk.post("up")
    desk.post("facts", **{**EVERYTHING, "kit": "5 draw; 5 draw=F5"})
    desk.post("facts", **{**EVERYTHING, "kit": "5 draw; 5 draw=F5", "key": "D"})
    assert desk.facts.changes == "5 draw=G#5"
    assert desk.facts.kit == "5 draw; 5 draw=G5"
    assert desk.facts.key == "D"


def test_tuning_kit_and_number_are_stored_as_they_were_chosen(desk):
    desk.post(
        "facts",
        **{**EVERYTHING, "temperament": "19-limit", "a4": "442.5", "quantity": "50",
           "kit": "5 draw=F#5", "comb": "ten-chamber"},
    )  # fmt: skip
    desk.post("save")
    wish = desk.stored
    assert (wish.temperament, float(wish.a4), wish.quantity) == ("19-limit", 442.5, 50)
    assert (wish.kit, wish.comb) == ("5 draw=F#5", "ten-chamber")


@pytest.mark.parametrize(
    ("do", "said", "line"),
    [
        ("pitch", {"note": "H5"}, "is no note"),
        ("move", {"to": "11-upper"}, "There is no hole 11"),
        ("move", {"to": ""}, "Choose the seat"),
        ("start", {"layout": "nothing like it", "key": "C"}, "No layout here is called"),
        ("start", {"layout": "standard", "key": "X"}, "is no key"),
        ("notes", {"blow": "C4", "draw": "D4 E4", "written": "c"}, "1 blow notes and 2 draw notes"),
        ("facts", {**EVERYTHING, "a4": "500"}, "500 is out of range"),
        ("facts", {**EVERYTHING, "a4": "440.123"}, "Two decimals"),
        ("facts", {**EVERYTHING, "kit": "5 sideways"}, "names no seat"),
        ("facts", {**EVERYTHING, "quantity": "0"}, "0 is out of range"),
    ],
)
def test_what_cannot_be_is_told_in_a_line_and_what_was_typed_is_kept(desk, do, said, line):
    desk.post("up")
    answer = desk.post(do, **said)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert line in page
    typed = next((value for value in said.values() if value and value in line), "")
    assert typed in page
    assert desk.facts.changes == "5 draw=F#5"


def test_a_save_after_somebody_elses_keeps_what_was_edited_and_says_so(desk):
    desk.post("up")
    actions.save_wish(
        desk.wish.order, somebody(), desk.wish, {"changes": "1 draw=D#4"}, seen=1
    )  # fmt: skip
    answer = desk.post("save")
    assert answer.status_code == 422
    assert "was changed by somebody else meanwhile" in answer.content.decode()
    assert "1 draw=D#4" in answer.content.decode()
    assert desk.stored.changes == "1 draw=D#4"
    assert desk.facts.changes == "5 draw=F#5"
    desk.post("save")
    assert desk.stored.changes == "5 draw=F#5"


def test_a_layout_wider_than_its_comb_is_shown_told_and_still_saved(desk):
    notes = ", ".join(f'"{note_name(60 + n)}"' for n in range(12))
    toml = f'title = "Twelve"\nblow = [{notes}]\ndraw = [{notes}]\n'
    design_actions.make(
        somebody(), "layout", read("layout", toml, name="twelve"), what="made", code="twelve"
    )
    answer = desk.post("start", layout="twelve", key="C")
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "has a reed in hole 11" in page
    assert page.count('class="seat-link"') == 24
    desk.post("save")
    assert desk.stored.layout == "twelve"


def test_a_layout_that_is_gone_leaves_a_page_to_start_anew_from():
    desk = Page(at_the_desk(), a_wish(layout="gone"))
    page = desk.get()
    assert page.status_code == 200
    assert "There is no 'gone' in this shop" in page.content.decode().replace("&#x27;", "'")
    desk.post("start", layout="standard", key="C")
    assert desk.facts.layout == "standard"


def test_a_further_wish_is_added_to_the_order_when_it_is_saved(desk):
    address = "/orders/wish/new/W-1/"
    desk.client.post(address, {"do": "up", "seat": "5-lower"})
    assert desk.wish.order.wishes.count() == 1
    answer = desk.client.post(address, {"do": "save", "seat": "5-lower"}, follow=True)
    assert [w.changes for w in desk.wish.order.wishes.order_by("row")] == ["", "5 draw=F#5"]
    assert answer.status_code == 200
    assert desk.client.get(address).context["facts"].changes == ""


def test_everybody_may_look_and_only_those_who_design_may_change(desk):
    other = Page(at_the_desk("packer"), desk.wish)
    page = other.get().content.decode()
    assert 'name="do"' not in page
    assert page.count('class="seat-link"') == 20
    assert other.post("up").status_code == 403
    assert other.client.get("/orders/wish/new/W-1/").status_code == 403
    for role in ("maker", "office"):
        assert Page(at_the_desk(role), desk.wish).post("up").status_code == 200


def test_a_wish_of_an_order_whose_plates_are_set_aside_is_only_looked_at(desk):
    order = desk.wish.order
    order.state = "aside"
    order.save()
    page = desk.get().content.decode()
    assert 'name="do"' not in page
    assert "its wishes are not changed any more" in page
    assert desk.post("up").status_code == 422


def test_one_persons_draft_is_not_anothers(desk):
    desk.post("up")
    other = Page(at_the_desk("maker"), desk.wish)
    assert other.facts.changes == ""


def test_a_fragment_is_renewed_in_place_and_tells_where_it_is(desk):
    answer = desk.client.post(
        desk.address, {"do": "up", "seat": "5-lower"}, headers={"HX-Request": "true"}
    )
    assert answer.status_code == 200
    assert answer["HX-Replace-Url"] == f"{desk.address}?seat=5-lower"
    assert answer.content.decode().lstrip().startswith('<div id="designer"')
    saved = desk.client.post(
        desk.address, {"do": "save", "seat": "5-lower"}, headers={"HX-Request": "true"}
    )
    assert saved["HX-Redirect"] == f"{desk.address}?seat=5-lower"


def test_the_scale_stays_chosen_while_seats_are(desk):
    page = desk.get(seat="2-upper", position="2", scale="blues").content.decode()
    assert "Scale: G blues, position 2" in page
    assert "seat=5-lower&amp;position=2&amp;scale=blues" in page
    assert desk.get(position="99", scale="no such").status_code == 200


@pytest.mark.parametrize("seat", ["", "0-upper", "99-lower", "5-middle", "x", "16-upper"])
def test_a_seat_that_is_none_is_no_fault(desk, seat):
    assert desk.get(seat=seat).status_code == 200


@pytest.mark.data
def test_the_page_asks_the_same_number_of_questions_however_full_the_rack_is(
    desk, django_assert_max_num_queries
):
    with django_assert_max_num_queries(20) as empty:
        desk.get()
    for key in ("C", "D", "A"):
        a_set(key, plates=3, batch=f"b-{key}")
    with django_assert_max_num_queries(20) as full:
        desk.get()
    assert len(full) == len(empty)


def test_a_note_is_heard_at_the_pitch_it_will_be_tuned_to():
    # A4 = 442 Hz; the A above it sounds twice that. Source: docs/sources.md, [midi-tuning].
    desk = Page(at_the_desk(), a_wish(a4="442"))
    heard = desk.get().context["plays"].seats
    assert heard[3, "lower"].name == "B4"
    assert float(heard[6, "lower"].hz) == pytest.approx(884.0, abs=0.001)
    assert 'data-hz="884.000"' in desk.get(seat="6-lower").content.decode()
