"""A tune as tab: as the command line gives it, with what is hard about it and what it costs."""

import json

import pytest
from django.urls import reverse

from cli.commands import combwright
from combwright.shop.repertoire import tabs
from combwright.shop.repertoire.rows import bars_in, beginning, signature
from combwright.tunes.keeping import to_plain
from combwright.tunes.opening import read_tune_bytes
from shop.designs.drafts import a_layout
from shop.jobs.hands import somebody
from shop.orders.shelf import a_draft, text
from shop.repertoire.tunebook import a_repertoire, many

pytestmark = pytest.mark.django_db
#: Three of its notes are no natural ones of a standard C.
BENT = "X:1\nT:Bent\nM:4/4\nL:1/4\nK:D\n=C E G =F|A ^D =c2|\n"


@pytest.fixture
def packer(client):
    client.force_login(somebody("packer"))
    return client


def a_melody(abc=BENT):
    return a_repertoire(abc=abc).melodies.first()


def at(name, melody):
    return reverse(f"repertoire:{name}", args=[melody.pk])


def test_a_tab_shows_each_note_its_hole_and_what_is_out_of_the_ordinary(packer):
    shown = text(packer.get(at("tab", a_melody()), {"shift": "0"}))
    assert "Played where it is written." in shown
    assert '<span class="note">F4</span> <span class="way">-2&#x27;&#x27;</span>' in shown
    assert "bent by 2 semitones" in shown
    assert "2 bent notes" in shown


def test_what_is_not_there_is_marked_and_named(packer):
    low = "X:1\nT:Low\nL:1/4\nK:C\nC C,, E C,,|\n"
    shown = text(packer.get(at("tab", a_melody(low)), {"shift": "0"}))
    assert "2 notes are not on this instrument; they are marked with a question mark." in shown
    assert shown.count('<span class="way">?</span>') == 2
    assert '<th scope="row">C2</th>' in shown


def test_bars_are_seen(packer):
    shown = text(packer.get(at("tab", a_melody()), {"shift": "0"}))
    assert shown.count(" barred") == 1


def test_the_parts_of_the_cost_add_up(packer):
    answer = packer.get(at("tab", a_melody()), {"shift": "best", "player": "beginner"})
    parts = answer.context["made_of"]
    assert sum(part.cost for part in parts) == pytest.approx(answer.context["cost"])


@pytest.mark.parametrize(
    "asked",
    [
        {},
        {"layout": "third-blow-raised", "key": "D", "shift": "octave"},
        {"layout": "standard", "key": "low F", "shift": "best", "player": "expert"},
        {"layout": "standard", "key": "C", "changes": "3 draw=A4; 5 draw=F#5", "shift": "-2"},
    ],
)
def test_text_and_json_are_those_of_the_command_line(packer, tmp_path, asked):
    (tmp_path / "book.abc").write_text(BENT)
    words = [f"--{'change' if n == 'changes' else n}={v}" for n, v in asked.items()]
    words += [] if "shift" in asked else ["--shift=octave"]
    said = combwright("tab", "book.abc", *words, cwd=tmp_path)
    document = combwright("tab", "book.abc", *words, "--json", cwd=tmp_path).document
    melody = a_melody()
    assert packer.get(at("tab-txt", melody), asked).content.decode() == said.out
    assert json.loads(packer.get(at("tab-json", melody), asked).content) == document


def test_the_shops_own_layouts_can_be_asked_for_and_retired_ones_still_are(packer):
    own = a_layout()
    melody = a_melody()
    shown = text(packer.get(at("tab", melody), {"layout": own.code}))
    assert "own)</option>" in shown
    own.retired = True
    own.save()
    answer = packer.get(at("tab", melody), {"layout": own.code})
    assert answer.status_code == 200
    assert "(retired)" in text(answer)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"layout": "nosuch"}, "Select a valid choice"),
        ({"key": "H"}, "H"),
        ({"changes": "15 draw=F#5"}, "15"),
        ({"changes": "rubbish"}, "rubbish"),
        ({"shift": "99"}, "Select a valid choice"),
        ({"player": "nobody"}, "Select a valid choice"),
    ],
)
def test_a_bad_question_is_told_and_stays_as_it_was_typed(packer, asked, told):
    melody = a_melody()
    answer = packer.get(at("tab", melody), {"changes": "5 draw=F#5", **asked})
    assert answer.status_code == 422
    assert told in text(answer)
    if "changes" not in asked:
        assert 'value="5 draw=F#5"' in text(answer)
    for name in ("tab-txt", "tab-json", "tab-pdf", "staff"):
        assert packer.get(at(name, melody), asked).status_code == 404


def test_a_long_tune_is_not_tried_in_every_key(packer, monkeypatch):
    monkeypatch.setattr(tabs, "_MOST_WORK", 100)
    melody = a_melody()
    answer = packer.get(at("tab", melody), {"shift": "best"})
    assert answer.status_code == 422
    assert "7 notes are too many to try every key" in text(answer)
    assert packer.get(at("tab", melody), {"shift": "octave"}).status_code == 200


def test_of_a_long_tune_the_page_shows_the_beginning(packer, monkeypatch):
    monkeypatch.setattr(tabs, "MOST_CELLS", 3)
    shown = text(packer.get(at("tab", a_melody())))
    assert shown.count('class="way"') == 3
    assert "4 more notes stand in the text and in the PDF." in shown


def test_one_turns_over_to_the_next_tune_with_the_same_instrument(packer):
    first, second, third = a_repertoire(abc=many(3)).melodies.order_by("place")
    shown = text(packer.get(at("tab", second), {"key": "D", "shift": "octave"}))
    assert f"{at('tab', first)}?key=D" in shown
    assert f"{at('tab', third)}?key=D" in shown


def test_a_repertoire_hands_the_instrument_on_to_its_tunes(packer):
    melody = a_melody()
    page = reverse("repertoire:one", args=[melody.repertoire_id])
    shown = text(
        packer.get(page, {"layout": "third-blow-raised", "key": "Bb", "changes": "5 draw=F#5"})
    )
    assert (
        f"{at('tab', melody)}?layout=third-blow-raised&amp;key=Bb&amp;changes=5+draw%3DF%235"
        in shown
    )


def test_from_a_wish_one_comes_to_the_tab_of_a_tune_on_it(packer):
    melody = a_melody()
    order = a_draft("W-1", {"layout": "natural-minor", "key": "low F", "changes": "5 draw=F#4"})
    wish = text(packer.get(reverse("orders:wish", args=[order.wishes.get().pk])))
    asked = "layout=natural-minor&amp;key=low%20F&amp;changes=5%20draw%3DF%234"
    assert f"{reverse('repertoire:list')}?{asked}" in wish
    tunes = text(packer.get(f"{reverse('repertoire:list')}?{asked.replace('&amp;', '&')}"))
    handed = "?layout=natural-minor&amp;key=low+F&amp;changes=5+draw%3DF%234"
    assert f"{reverse('repertoire:one', args=[melody.repertoire_id])}{handed}" in tunes
    assert packer.get(f"{at('tab', melody)}{handed.replace('&amp;', '&')}").status_code == 200


def test_the_page_asks_the_same_of_the_database_however_long_the_repertoire_is(
    packer, django_assert_max_num_queries
):
    melody = a_repertoire(abc=many(80)).melodies.get(title="Number 40")
    with django_assert_max_num_queries(8):
        packer.get(at("tab", melody))


# In a few words


def plain(abc):
    return to_plain(read_tune_bytes(abc.encode(), "book.abc").tunes[0])


def test_a_tunes_beginning_has_strokes_between_bars():
    assert beginning(plain(BENT)) == "C4 E4 G4 F4 | A4 D#4 C5"
    long = plain("X:1\nT:L\nM:4/4\nL:1/4\nK:C\n" + "CDEF|" * 4 + "\n")
    assert beginning(long).endswith(" …")


def test_bars_and_signature_are_told_where_they_are_known():
    assert bars_in(plain(BENT)) == 2
    assert signature(plain(BENT)) == "2 sharps"
    assert signature(plain(BENT.replace("K:D", "K:F"))) == "1 flat"
    assert signature(plain(BENT.replace("K:D", "K:Am"))) == "no sharps or flats"
    bare = {"notes": [[60, 0, 100]]}
    assert (bars_in(bare), signature(bare), beginning(bare)) == (None, "", "C4")


def test_an_upbeat_is_no_bar():
    up = "X:1\nT:Up\nM:4/4\nL:1/4\nK:C\n|:G|CDEF|GABc|CDEF|CDE:|\n"
    assert bars_in(plain(up)) == 8
