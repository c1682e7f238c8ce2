"""What people fill in about sets, donors and parts."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.errors import CombwrightError
from combwright.notes.keys import parse_key
from combwright.shop.designs import queries as designs
from combwright.shop.rack.forms import MOST_PLATES, typed
from combwright.shop.rack.item_actions import NewItem
from combwright.shop.rack.item_queries import ItemSearch
from combwright.shop.rack.models import Item


def seen_in_full(text: str) -> None:
    """Refuse a name with characters that nobody can see."""
    if not text.isprintable():
        raise ValidationError(_now("There is a character in it that cannot be seen; type it anew."))


class KeyField(forms.CharField):
    """A key such as A, Bb or low F; gives its name as it is written everywhere."""

    def clean(self, value: Any) -> Any:
        """Read the key, or say what is wrong with it."""
        text = super().clean(value)
        try:
            return parse_key(text).name
        except CombwrightError as error:
            raise ValidationError(str(error)) from error


class MoneyField(forms.DecimalField):
    """An amount in the shop's currency; empty is 0."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            min_value=Decimal(0),
            max_digits=9,
            decimal_places=2,
            required=False,
            localize=True,
            widget=typed("decimal"),
            **options,
        )

    def clean(self, value: Any) -> Any:
        """Read the amount."""
        return super().clean(value) or Decimal(0)


class ItemSearchForm(forms.Form):
    """Looking through the store."""

    text = forms.CharField(label=_("Name, part, place or batch"), required=False, max_length=60)
    kind = forms.ChoiceField(label=_("Kind"), required=False, choices=[("", _("any")), *Item.KINDS])
    there = forms.BooleanField(label=_("Only what is there"), required=False)

    def search(self) -> ItemSearch:
        """Return what is looked for; wrong fields look for nothing in particular."""
        given = self.cleaned_data if self.is_valid() else getattr(self, "cleaned_data", {})
        return ItemSearch(
            text=given.get("text") or "",
            kind=given.get("kind") or "",
            there=bool(given.get("there")),
        )


class _ItemForm(forms.Form):
    """What all items say of themselves."""

    code = forms.CharField(label=_("Name"), max_length=40, validators=[seen_in_full])
    about = forms.CharField(
        label=_("What it is"), max_length=200, required=False, validators=[seen_in_full]
    )
    walk = forms.CharField(
        label=_("Place on the walk"), max_length=40, required=False, validators=[seen_in_full]
    )
    cost = MoneyField(label=_("Cost of one"))
    came = forms.IntegerField(
        label=_("How many came"),
        help_text=_("They are received at once; leave it empty if none is here yet."),
        required=False,
        validators=[MinValueValidator(0), MaxValueValidator(MOST_PLATES)],
        widget=typed("numeric"),
    )
    kind = ""

    def new_item(self) -> NewItem:
        """Return what the new item is."""
        said = self.cleaned_data
        return NewItem(
            code=said["code"],
            kind=self.kind,
            about=said["about"],
            key=said.get("key", ""),
            layout=said.get("layout", ""),
            batch=said.get("batch", ""),
            part=said.get("part", ""),
            walk=said["walk"],
            cost=said["cost"],
        )


class SetForm(_ItemForm):
    """A new kind of factory set; it is in the standard layout, as factories make them."""

    kind = Item.SET
    key = KeyField(label=_("Key"), max_length=10, help_text=_("Such as G, Bb or low F."))
    batch = forms.CharField(
        label=_("Batch"),
        max_length=40,
        help_text=_("Its plates belong to this batch when it is opened."),
        validators=[seen_in_full],
    )
    field_order = ("code", "key", "layout", "batch", "about", "walk", "cost", "came")

    def new_item(self) -> NewItem:
        """Return what the new set is."""
        self.cleaned_data.setdefault("layout", "standard")
        return super().new_item()


class DonorForm(SetForm):
    """A new donor instrument, in any layout."""

    kind = Item.DONOR
    layout = forms.ChoiceField(label=_("Layout"))

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["layout"].choices = [  # type: ignore[attr-defined]
            (each.code, each.layout.title) for each in designs.layouts()
        ]


class PartForm(_ItemForm):
    """A new part."""

    kind = Item.PART
    part = forms.CharField(
        label=_("Part"),
        max_length=40,
        validators=[seen_in_full],
        help_text=_("As combs name it in their lists of parts: comb, cover, screw, gasket."),
    )
    field_order = ("code", "part", "about", "walk", "cost", "came")


#: From a kind of item to the form that makes one.
NEW_FORMS: dict[str, type[_ItemForm]] = {
    Item.SET: SetForm, Item.DONOR: DonorForm, Item.PART: PartForm
}  # fmt: skip


class ManyForm(forms.Form):
    """How many, and why."""

    many = forms.IntegerField(
        label=_("How many"),
        validators=[MinValueValidator(1), MaxValueValidator(MOST_PLATES)],
        widget=typed("numeric"),
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=300)


class GoneForm(ManyForm):
    """How many leave for good, with the reason said."""

    note = forms.CharField(label=_("Why"), max_length=300)


class FoundForm(forms.Form):
    """How many were found."""

    found = forms.IntegerField(
        label=_("How many are there"),
        validators=[MinValueValidator(0), MaxValueValidator(MOST_PLATES)],
        widget=typed("numeric"),
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=300)
