"""Numbers as people write them in forms: every digit is kept, or the number is refused.

A decimal comma and a decimal point are both read. What could be either a decimal mark or a mark
between thousands is asked about, where the larger number would be possible at all.
"""

import re
from decimal import Decimal
from typing import Any, Final

from django import forms
from django.utils.formats import get_format
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)")
_THOUSANDS: Final = re.compile(r"[+-]?[1-9][0-9]{0,2}[.,][0-9]{3}")
_LONGEST: Final = 40


def shown(value: float | Decimal | None) -> str:
    """Write a number with all its digits and the reader's decimal mark; nothing for None."""
    if value is None:
        return ""
    if isinstance(value, Decimal):
        text = format(value, "f")
    else:
        text = format(Decimal(repr(value)).normalize() + 0, "f")
    return text.replace(".", str(get_format("DECIMAL_SEPARATOR")))


def signed(value: float) -> str:
    """Write a number with all its digits and its sign."""
    return ("+" if value > 0 else "\u2212" if value < 0 else "") + shown(abs(value))


class NumberField(forms.CharField):
    """A number within limits, both inclusive; with `above`, more than the lower one.

    Parameters
    ----------
    low, high : float
        The limits.
    above : bool
        Whether the lower limit itself is too low.
    money : bool
        Gives a Decimal of at most six decimals; otherwise a float.
    """

    def __init__(
        self, low: float, high: float, *, above: bool = False, money: bool = False, **options: Any
    ) -> None:
        super().__init__(widget=_typed("decimal"), max_length=_LONGEST, **options)
        self.low, self.high, self.above, self.money = low, high, above, money

    def prepare_value(self, value: Any) -> Any:
        """Show numbers as people write them, and what was typed as it was typed."""
        return shown(value) if isinstance(value, float | int | Decimal) else value

    def clean(self, value: Any) -> Any:
        """Read the number, or say what is wrong with it."""
        text = str(super().clean(value) or "").replace("\u2212", "-").strip()
        if not text:
            return None
        if not _NUMBER.fullmatch(text):
            example = shown(min(self.high, max(self.low, 14.2)))
            raise forms.ValidationError(
                _now("%(text)r is no number; write one such as %(example)s.")
                % {"text": text, "example": example}
            )
        self._check_mark(text)
        number = Decimal(text.replace(",", "."))
        self._check_limits(text, number)
        return self._kept(text, number)

    def _check_mark(self, text: str) -> None:
        usual = str(get_format("DECIMAL_SEPARATOR"))
        large = text.replace(".", "").replace(",", "")
        if usual in text or not _THOUSANDS.fullmatch(text) or abs(int(large)) > self.high:
            return
        small = text.replace(",", ".").replace(".", usual)
        raise forms.ValidationError(
            _now("%(text)s can be read in two ways; write %(small)s or %(large)s.")
            % {"text": text, "small": small, "large": large}
        )

    def _check_limits(self, text: str, number: Decimal) -> None:
        if self.low <= number <= self.high and not (self.above and number == Decimal(self.low)):
            return
        said = {"text": text, "low": shown(self.low), "high": shown(self.high)}
        if self.above:
            wrong = _now("%(text)s is out of range; above %(low)s and up to %(high)s is right.")
        else:
            wrong = _now("%(text)s is out of range; %(low)s to %(high)s is right.")
        raise forms.ValidationError(wrong % said)

    def _kept(self, text: str, number: Decimal) -> float | Decimal:
        if self.money:
            if number != number.quantize(Decimal("0.000001")):
                raise forms.ValidationError(
                    _now("%(text)s has more than six decimals; round it yourself.") % {"text": text}
                )
            return number + 0
        kept = float(number) + 0.0
        if Decimal(repr(kept)) != number:
            raise forms.ValidationError(
                _now("%(text)s has more digits than can be kept; %(kept)s is the nearest.")
                % {"text": text, "kept": shown(kept)}
            )
        return kept


class WholeField(forms.IntegerField):
    """A whole number within limits, both inclusive."""

    def __init__(self, low: int, high: int, **options: Any) -> None:
        super().__init__(widget=_typed("numeric"), **options)
        self.low, self.high = low, high
        self.error_messages["invalid"] = _("Write a whole number, such as 4.")

    def clean(self, value: Any) -> Any:
        """Read the number, or say what is wrong with it."""
        number = super().clean(value)
        if number is not None and not self.low <= number <= self.high:
            raise forms.ValidationError(
                _now("%(number)s is out of range; %(low)d to %(high)d is right.")
                % {"number": number, "low": self.low, "high": self.high}
            )
        return number


def _typed(mode: str) -> forms.TextInput:
    """Return a text box with a keyboard of numbers: a number box would drop what was mistyped."""
    return forms.TextInput({"inputmode": mode, "autocomplete": "off"})
