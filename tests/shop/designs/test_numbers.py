from decimal import Decimal

import pytest
from django.forms import ValidationError
from django.utils.translation import override
from hypothesis import given
from hypothesis import strategies as st

from combwright.shop.designs.numbers import NumberField, shown

MM = NumberField(0, 80)
MONEY = NumberField(0, 1_000_000_000, money=True)


@pytest.mark.parametrize(
    ("text", "value"),
    [("14.2", 14.2), ("14,2", 14.2), (" 7 ", 7.0), (".5", 0.5), ("0", 0.0), ("-0", 0.0),
     ("16.125", 16.125), ("1,234", 1.234)],
)  # fmt: skip
def test_a_comma_and_a_point_are_both_decimal_marks(text, value):
    assert MM.clean(text) == value


def test_what_could_part_thousands_is_asked_about():
    with pytest.raises(ValidationError, match=r"write 1\.234 or 1234"):
        MONEY.clean("1,234")
    assert MONEY.clean("1.234") == Decimal("1.234")
    with override("de"), pytest.raises(ValidationError, match="write 1,234 or 1234"):
        MONEY.clean("1.234")


@given(st.floats(1e-6, 80))
def test_any_number_is_shown_so_that_it_is_read_back_the_same(value):
    assert MM.clean(shown(value)) == value


@given(st.decimals(0, 1_000_000_000, places=6))
def test_any_amount_is_shown_so_that_it_is_read_back_the_same(value):
    assert MONEY.clean(shown(value)) == value


@pytest.mark.parametrize("text", ["1e3", "inf", "0x10", "1.2.3", "1 2", "--1", "٣", "+", "1_0"])
def test_what_is_no_plain_number_is_refused(text):
    with pytest.raises(ValidationError, match="is no number"):
        MM.clean(text)
