"""What is filled in when a set or a donor is opened: its plates, bins, and other parts."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.shop.rack import opening
from combwright.shop.rack.actions import NewBin, Slice
from combwright.shop.rack.forms import LengthField, typed
from combwright.shop.rack.item_forms import MoneyField, seen_in_full
from combwright.shop.rack.models import MILLICENTS_PER_CENT, Bin, Item

#: A layout has two decks of sixteen holes at most.
MOST_PLATES_IN_ONE = 32
_MOST_OF_A_PART = 1_000


class PlaceForm(forms.Form):
    """Where new bins are and what one plate costs."""

    place = forms.CharField(
        label=_("Name of the drawer"),
        help_text=_("Bins that are not there yet are called after it: A-07 gives A-07-1."),
        max_length=30,
        validators=[seen_in_full],
    )
    cost = MoneyField(label=_("Cost of one plate"))


class OpeningForm(forms.Form):
    """What is said about the opening as a whole; `seen` is the ledger's newest line then."""

    note = forms.CharField(label=_("Note"), required=False, max_length=120)
    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    agreed = forms.BooleanField(
        label=_("Make the bins that are not there yet, as I named them"), required=False
    )


class PlateForm(forms.Form):
    """One plate: whether it came out whole, and its bin and measures."""

    lost = forms.BooleanField(label=_("Lost"), required=False)
    code = forms.CharField(label=_("Bin"), max_length=40, required=False, validators=[seen_in_full])
    slot = LengthField(label=_("Slot (mm)"), required=False)
    mount = forms.ChoiceField(label=_("Mounted end"), choices=Bin.MOUNTS)
    cents = forms.DecimalField(
        label=_("Offset (cents)"),
        min_value=-600,
        max_value=600,
        decimal_places=3,
        required=False,
        localize=True,
        widget=typed("decimal"),
    )

    def clean(self) -> dict[str, Any]:
        """Ask for a bin and a slot of every plate that is not lost."""
        said = super().clean() or self.cleaned_data
        if not said.get("lost"):
            for name in ("code", "slot"):
                if not said.get(name) and name not in self.errors:
                    self.add_error(name, _now("Fill this in, or tick that the plate is lost."))
        return said

    def slice(self, plate: Mapping[str, Any]) -> Slice:
        """Return the plate's bin; `plate` is its row of the proposal."""
        said = self.cleaned_data
        proposed = said["code"] == plate["code"]
        new = NewBin(
            code=said["code"],
            midi=plate["midi"],
            slot_um=said["slot"] or 1,
            mount=said["mount"],
            millicents=int((said["cents"] or 0) * MILLICENTS_PER_CENT),
            cut=plate["cut"],
            walk=plate["walk"] if proposed else said["code"],
            cost=plate["cost"],
        )
        return Slice(new, 0 if said["lost"] else 1)


PlateFormSet = forms.formset_factory(
    PlateForm, extra=0, min_num=0, max_num=MOST_PLATES_IN_ONE, absolute_max=MOST_PLATES_IN_ONE
)


class OtherPartsForm(forms.Form):
    """How many of each part came out of a donor beside its plates."""

    def __init__(self, *args: Any, item: Item, **options: Any) -> None:
        super().__init__(*args, **options)
        for part in opening.parts_for(item):
            self.fields[f"part-{part.pk}"] = forms.IntegerField(
                label=f"{part.part}: {part.code}",
                required=False,
                validators=[MinValueValidator(0), MaxValueValidator(_MOST_OF_A_PART)],
                widget=typed("numeric"),
            )

    def parts(self) -> dict[int, int]:
        """Return how many came of each part, by its key; those of which none came are left out."""
        said = self.cleaned_data
        return {int(name.removeprefix("part-")): many for name, many in said.items() if many}


def check_new_bins(
    plates: Sequence[PlateForm], proposed: Sequence[Mapping[str, Any]], *, agreed: bool
) -> bool:
    """Refuse names that no bin has and that were not proposed, unless the person agreed to them.

    A name mistyped would else make a bin that nobody meant, and its plate would lie in another.
    """
    if agreed:
        return True
    typed_in = {
        each.cleaned_data["code"]: each
        for each, plate in zip(plates, proposed, strict=True)
        if not each.cleaned_data["lost"] and each.cleaned_data["code"] != plate["code"]
    }
    unknown = opening.not_there(list(typed_in))
    for code in unknown:
        typed_in[code].add_error(
            "code",
            _now("There is no bin %(bin)s yet. Mend its name, or tick below that it is to be made.")
            % {"bin": code},
        )
    return not unknown
