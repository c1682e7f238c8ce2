"""A wish as a plain form: what one copy is, and how many of them."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.comb.changes import parse_changes, parse_kit
from combwright.errors import CombwrightError
from combwright.files.orders import MOST_QUANTITY
from combwright.files.wishes import BadWish, design_of
from combwright.notes.keys import parse_key
from combwright.notes.pitch import HIGHEST_A4_HZ, LOWEST_A4_HZ
from combwright.notes.temperament import NAMES
from combwright.shop.designs import queries as designs
from combwright.shop.orders.drawn import Drawer
from combwright.shop.orders.forms import typed
from combwright.shop.orders.models import Wish
from combwright.shop.orders.queries import layout_titles, layouts_named
from combwright.shop.orders.splitting import OF_A_WISH

_READERS: Final[Mapping[str, Callable[[str], object]]] = MappingProxyType(
    {"changes": parse_changes, "kit": parse_kit}
)


def _line(**more: str) -> forms.TextInput:
    return forms.TextInput({"autocapitalize": "none", "spellcheck": "false", **more})


class RowForm(forms.Form):
    """What one copy is. A nickname that means two layouts makes it ask which."""

    what = forms.ChoiceField(label=_("What"), choices=Wish.WHATS, initial=Wish.INSTRUMENT)
    quantity = forms.IntegerField(
        label=_("How many"), initial=1, widget=typed("numeric"),
        validators=[MinValueValidator(1), MaxValueValidator(MOST_QUANTITY)],
    )  # fmt: skip
    key = forms.CharField(
        label=_("Key"), initial="C", max_length=10, widget=_line(),
        help_text=_("Such as A, Bb, low F or high G."),
    )  # fmt: skip
    layout = forms.CharField(
        label=_("Layout"), initial="standard", max_length=60, widget=_line(),
        help_text=_("A name of the catalogue or of the shop's own, or what people here call it."),
    )  # fmt: skip
    changes = forms.CharField(
        label=_("Changes"), required=False, max_length=2000, widget=_line(),
        help_text=_("Such as 5 draw=F#5; 3 blow=A4. Notes as they sound in the key."),
    )  # fmt: skip
    kit = forms.CharField(
        label=_("Kit"), required=False, max_length=1000, widget=_line(),
        help_text=_("Spare plates that go along, such as 5 draw; 5 draw; 4 draw."),
    )  # fmt: skip
    temperament = forms.ChoiceField(
        label=_("Temperament"), choices=[(name, name) for name in NAMES], initial="equal"
    )
    a4 = forms.DecimalField(
        label=_("A4 in hertz"), initial=440, max_digits=6, decimal_places=2, localize=True,
        min_value=Decimal(str(LOWEST_A4_HZ)), max_value=Decimal(str(HIGHEST_A4_HZ)),
        widget=typed("decimal"),
    )  # fmt: skip
    comb = forms.ChoiceField(label=_("Comb"), required=False)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        initial: Mapping[str, Any] | None = None,
        prefix: str | None = None,
    ) -> None:
        super().__init__(data, initial=dict(initial or {}), prefix=prefix)
        known = {each.code: each.comb.title for each in designs.combs()}
        kept = str(self.initial.get("comb") or "")
        if kept:
            known.setdefault(kept, kept)
        combs = [("", _("the usual one")), *known.items()]
        self.fields["comb"].choices = combs  # type: ignore[attr-defined]
        self._ask_which()

    def _ask_which(self) -> None:
        """Where the word that was sent means several layouts, have one chosen."""
        word = str(self.data.get(self.add_prefix("layout")) or "") if self.is_bound else ""
        self.meant = layouts_named(word) if word.strip() else []
        if len(self.meant) < 2:
            return
        self.fields["which"] = forms.ChoiceField(
            label=_now("Which layout is meant?"), required=False, widget=forms.RadioSelect,
            choices=list(layout_titles(self.meant).items()),
        )  # fmt: skip
        self.order_fields(["what", "quantity", "key", "layout", "which"])

    def clean_key(self) -> str:
        """Read the key."""
        try:
            return parse_key(self.cleaned_data["key"]).name
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error

    def clean(self) -> dict[str, Any]:
        """Find the layout that is meant, and make sure that the row can be built."""
        said = self.cleaned_data
        if said.get("layout"):
            said["layout"] = self._layout(said["layout"])
        if not self.errors:
            self._check_design()
        return said

    def _layout(self, word: str) -> str:
        if len(self.meant) == 1:
            return self.meant[0]
        if self.meant:
            chosen: str = self.cleaned_data.get("which") or ""
            if not chosen:
                wrong = _now("%(word)s means %(n)d layouts here; choose the one that is meant.")
                self.add_error("which", wrong % {"word": word, "n": len(self.meant)})
            return chosen
        try:
            designs.layout(word)
        except CombwrightError as error:
            self.add_error("layout", str(error))
        return word

    def _check_design(self) -> None:
        wish = Wish(**self.facts())
        for field in _READERS:
            self._read(field, wish)
        if self.errors:
            return
        try:
            design_of(Drawer([wish]).read(wish))
        except BadWish as error:
            for field, text in error.problems:
                self.add_error(field if field in self.fields else None, text)
        except CombwrightError as error:
            self.add_error(None, str(error))

    def _read(self, field: str, wish: Wish) -> None:
        try:
            _READERS[field](getattr(wish, field))
        except CombwrightError as error:
            self.add_error(field, str(error))

    def facts(self) -> dict[str, Any]:
        """Return the fields of a wish."""
        return {name: self.cleaned_data[name] for name in OF_A_WISH}


def row_said(wish: Wish) -> dict[str, Any]:
    """Return a wish as its form shows it."""
    return {name: getattr(wish, name) for name in OF_A_WISH}
