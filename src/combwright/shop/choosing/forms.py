"""What is asked about a repertoire, and where a wish that is made of an answer goes."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.playing.costs import USUAL
from combwright.shop.designs.queries import KnownLayout
from combwright.shop.orders.models import Order
from combwright.shop.orders.wish_forms import KeyField
from combwright.shop.register.models import Instrument

PLAYERS: Final = [
    ("beginner", _("a beginner: bends and overbends are hard")),
    ("intermediate", _("practised: bends are easy, overbends are hard")),
    ("expert", _("an expert: overbends cost little more than bends")),
]
NEW: Final = "new"


def player_field() -> forms.ChoiceField:
    """Return the field that says who plays."""
    return forms.ChoiceField(
        label=_("Who plays"), choices=PLAYERS, initial=USUAL,
        help_text=_("How dear bends, overbends, jumps and changes of breath are."),
    )  # fmt: skip


class MatchForm(forms.Form):
    """Which layouts, and whose instruments, are ranked.

    Parameters
    ----------
    layouts : iterable of KnownLayout
        Those to choose from.
    own : iterable of Instrument
        Those of whoever plays the repertoire; without any the field is left out.
    """

    player = player_field()
    own = forms.MultipleChoiceField(
        label=_("Their own instruments"), required=False, widget=forms.CheckboxSelectMultiple,
        help_text=_("Ranked among the layouts, as they are built."),
    )  # fmt: skip
    layouts = forms.MultipleChoiceField(
        label=_("Layouts"), required=False, widget=forms.CheckboxSelectMultiple,
        help_text=_("Tick none to rank them all."),
    )  # fmt: skip

    def __init__(
        self, data: Any = None, *, layouts: Iterable[KnownLayout], own: Iterable[Instrument]
    ) -> None:
        super().__init__(data)
        self._choose("layouts", [(each.code, _title(each)) for each in layouts])
        instruments = [(each.serial, _instrument(each)) for each in own]
        self._choose("own", instruments)
        self.fields["own"].initial = [serial for serial, _words in instruments]
        if not instruments:
            del self.fields["own"]

    def _choose(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = choices

    def asked(self) -> dict[str, Any]:
        """Return the question, as an answer keeps it."""
        said = self.cleaned_data
        return {
            "layouts": said["layouts"], "own": said.get("own", []), "player": said["player"]
        }  # fmt: skip


def _title(known: KnownLayout) -> str:
    return _now("%s (the shop's own)") % known.layout.title if known.own else known.layout.title


def _instrument(each: Instrument) -> str:
    return f"{each.serial}: {each.title}"


class WishForm(forms.Form):
    """Where a wish goes, and its key where the answer leaves that open.

    Parameters
    ----------
    drafts : iterable of Order
        Draft orders to choose from.
    may_order : bool
        Whether this person may make a new order.
    any_key : bool
        Whether a row leaves the key open.
    """

    order = forms.ChoiceField(label=_("The wish goes into"))
    key = KeyField()

    def __init__(
        self, data: Any = None, *, drafts: Iterable[Order], may_order: bool, any_key: bool
    ) -> None:
        super().__init__(data, auto_id="wish-%s", initial={"key": "C"})
        field = self.fields["order"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = list(_orders(drafts, may_order=may_order))
        field.error_messages["invalid_choice"] = _now(
            "That order is no draft any more; choose another one."
        )
        if not any_key:
            del self.fields["key"]

    @property
    def can(self) -> bool:
        """Whether there is an order to put a wish into."""
        return bool(self.fields["order"].choices)  # type: ignore[attr-defined]

    def facts(self) -> Mapping[str, str]:
        """Return the number of the order, empty for a new one, and the key."""
        number = self.cleaned_data["order"]
        return {
            "order": "" if number == NEW else number[1:],
            "key": self.cleaned_data.get("key", ""),
        }


def _orders(drafts: Iterable[Order], *, may_order: bool) -> Iterator[tuple[str, str]]:
    if may_order:
        yield NEW, _now("a new draft order")
    for each in drafts:
        who = f", {each.customer}" if each.customer else ""
        yield f"={each.number}", f"{each.number}{who}"
