from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combwright.allocation.workshop import LabelSheet, Retune, Weight, Workshop
from combwright.files.workshop import parse_workshop, workshop_toml
from combwright.shop.designs import queries
from combwright.shop.designs.models import Design
from shop.designs.drafts import a_file, fields_of, opened, somebody, text

EDIT, REPLACE = "/designs/workshop/edit/", "/designs/workshop/replace/"
CENTS, PAGE_MM = st.floats(0, 1200), st.floats(0, 400)
MONEY = st.decimals(0, 1_000_000_000, places=6)
SIGNS = st.characters(codec="utf-8", categories=["L", "N", "P", "S"])


@pytest.fixture
def maker(client, db):
    client.force_login(somebody("maker"))
    return client


@given(
    st.builds(
        Workshop,
        retune=st.builds(Retune, CENTS, CENTS, CENTS, MONEY, MONEY),
        weight=st.builds(Weight, CENTS, MONEY, MONEY),
        labels=st.builds(
            LabelSheet, st.integers(1, 50), st.integers(1, 20), PAGE_MM, PAGE_MM, PAGE_MM, PAGE_MM
        ),
        paper=st.sampled_from(["A4", "letter"]),
        currency=st.text(SIGNS, min_size=1, max_size=12),
    )
)
def test_any_workshop_survives_being_written_and_read(workshop):
    assert parse_workshop(workshop_toml(workshop), name="workshop.toml").value == workshop


def test_until_the_shop_writes_its_own_the_usual_numbers_hold(maker):
    assert queries.workshop() == Workshop()
    assert "has not changed them yet" in text(maker.get("/designs/workshop/"))
    file = maker.get("/designs/workshop/toml/").content.decode()
    assert parse_workshop(file, name="workshop.toml").value == Workshop()


def test_the_numbers_are_saved_version_by_version(maker):
    given = opened(maker, EDIT) | {"retune_fixed": "0.75", "paper_size": "letter"}
    assert maker.post(EDIT, given).status_code == 302
    assert queries.workshop() == Workshop(retune=Retune(fixed=Decimal("0.75")), paper="letter")
    maker.post(EDIT, opened(maker, EDIT) | {"labels_rows": "9"})
    assert queries.workshop().labels.rows == 9
    assert list(Design.objects.get().versions.values_list("number", "what")) == [
        (2, "edited"), (1, "edited")
    ]  # fmt: skip
    assert "0.75" in text(maker.get("/designs/workshop/versions/1/"))


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"retune_raise_most_cents": "1201"}, "retune_raise_most_cents", "0 to 1200"),
        ({"retune_fixed": "0.0000001"}, "retune_fixed", "more than six decimals"),
        ({"retune_fixed": "-1"}, "retune_fixed", "out of range"),
        ({"retune_fixed": "1,234"}, "retune_fixed", "read in two ways; write 1.234 or 1234"),
        ({"labels_rows": "51"}, "labels_rows", "1 to 50"),
        ({"paper_size": "A5"}, "paper_size", "valid choice"),
        ({"paper_currency": ""}, "paper_currency", "required"),
    ],
)
def test_a_wrong_number_is_said_beside_its_field_and_kept(maker, typed, field, said):
    given = opened(maker, EDIT) | {"labels_top_mm": "13"} | typed
    answer = maker.post(EDIT, given)
    assert answer.status_code == 422
    assert said in " ".join(answer.context["form"].errors[field])
    kept = fields_of(answer.content.decode().split("<main")[1])
    assert {k: kept.get(k) for k in given if k != "paper_size"} == {
        k: v for k, v in given.items() if k != "paper_size"
    }
    assert not Design.objects.exists()


def test_two_first_saves_at_once_do_not_overwrite_one_another(maker):
    mine = opened(maker, EDIT) | {"labels_rows": "9"}
    maker.post(EDIT, opened(maker, EDIT) | {"labels_rows": "7"})
    answer = maker.post(EDIT, mine)
    assert answer.status_code == 422
    assert "Somebody else has changed this" in text(answer)
    assert queries.workshop().labels.rows == 7


def test_an_odd_number_is_taken_with_a_warning(maker):
    given = opened(maker, EDIT) | {"retune_free_cents": "90"}
    assert "is wider than retune.lower_most_cents" in text(maker.post(EDIT, given, follow=True))


def test_a_file_is_taken_in_as_it_stands(maker):
    written = "# ours\n[money]\ncurrency = 'CHF'\n[shop]\nname = 'x'\n"
    answer = maker.post(REPLACE, {"file": a_file(written, "workshop.toml")}, follow=True)
    assert "not known and left out: shop" in text(answer)
    assert queries.workshop().currency == "CHF"
    assert maker.get("/designs/workshop/toml/").content.decode() == written


def test_a_wrong_file_changes_nothing_and_says_everything(maker):
    written = "[retune]\nfixed = -1\nfree_cents = 'a'\n[paper]\nsize = 'A5'\n"
    answer = maker.post(REPLACE, {"file": a_file(written, "workshop.toml")})
    assert answer.status_code == 422
    assert len(answer.context["problems"]) == 3
    assert not Design.objects.exists()
