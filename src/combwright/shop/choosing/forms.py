"""What is asked about a repertoire."""

from collections.abc import Iterable
from typing import Any, Final

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.errors import CombwrightError
from combwright.notes.keys import ORDINARY_KEYS
from combwright.playing.costs import USUAL
from combwright.shop.choosing.bases import base_of
from combwright.shop.choosing.swapping import check_plates
from combwright.shop.designs.forms import LineField
from combwright.shop.designs.numbers import WholeField
from combwright.shop.designs.queries import KnownComb, KnownLayout
from combwright.shop.orders.wish_forms import KeyField
from combwright.shop.register.models import Instrument
from combwright.shop.repertoire.models import Repertoire

PLAYERS: Final = [
    ("beginner", _("a beginner: bends and overbends are hard")),
    ("intermediate", _("practised: bends are easy, overbends are hard")),
    ("expert", _("an expert: overbends cost little more than bends")),
]
#: The most reeds that are swapped, and the most semitones that one is moved.
MOST: Final = 4
#: Begins the name of an instrument where a layout could stand; no layout's name has a colon.
_OWN: Final = "own:"
_STANDARD: Final = "standard"


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
    keys = forms.MultipleChoiceField(
        label=_("Keys"), required=False, widget=forms.CheckboxSelectMultiple,
        choices=[(key, key) for key in ORDINARY_KEYS],
        help_text=_("Tick none to move each tune to wherever it lies best: then the key does not "
                    "matter. With keys ticked tunes stay as they are written, moved by octaves "
                    "only."),
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
            "layouts": said["layouts"], "own": said.get("own", []), "keys": said["keys"],
            "player": said["player"],
        }  # fmt: skip


def _title(known: KnownLayout) -> str:
    return _now("%s (the shop's own)") % known.layout.title if known.own else known.layout.title


def _instrument(each: Instrument) -> str:
    return f"{each.serial}: {each.title}"


class SwapsForm(forms.Form):
    """Which reeds may be swapped, in what, and what there is to swap in.

    Parameters
    ----------
    repertoire : Repertoire
        Whose tunes are meant.
    layouts : iterable of KnownLayout
        Those to choose from.
    own : iterable of Instrument
        Those of whoever plays the repertoire.
    combs : iterable of KnownComb
        Those to choose from.
    """

    base = forms.ChoiceField(label=_("Reeds are swapped in"))
    key = KeyField()
    most = WholeField(1, MOST, label=_("Most reeds swapped"))
    by = WholeField(1, MOST, label=_("By how many semitones at most"))
    player = player_field()
    rack = forms.BooleanField(
        label=_("Only what the rack can supply today"), required=False,
        help_text=_("Plates that nothing is set aside of, retuned as far as the workshop does."),
    )  # fmt: skip
    kit = LineField(
        label=_("Only what this kit holds"), required=False, max_length=1000,
        help_text=_("Such as 5 draw=F#5; 3 blow=A4. Plates that are taken out may be moved too. "
                    "With the rack ticked, either will do."),
        widget=forms.TextInput({"autocomplete": "off", "spellcheck": "false"}),
    )  # fmt: skip
    comb = forms.ChoiceField(
        label=_("Comb"), required=False, help_text=_("Where plates of the rack or kit must fit."),
    )  # fmt: skip

    def __init__(
        self,
        data: Any = None,
        *,
        repertoire: Repertoire,
        layouts: Iterable[KnownLayout],
        own: Iterable[Instrument],
        combs: Iterable[KnownComb],
    ) -> None:
        theirs = [(f"{_OWN}{each.serial}", _instrument(each)) for each in own]
        first = theirs[0][0] if theirs else _STANDARD
        super().__init__(data, initial={"base": first, "key": "C", "most": 2, "by": 2})
        self.repertoire = repertoire
        shipped = [(each.code, _title(each)) for each in layouts]
        groups = [(_now("their own"), theirs), (_now("layouts"), shipped)] if theirs else shipped
        self._choose("base", groups)
        known = list(combs)
        usual = next((each.comb.title for each in known if each.usual), "")
        named = [(each.code, each.comb.title) for each in known]
        self._choose("comb", [("", _now("the usual one: %s") % usual), *named])
        if theirs:
            self.fields["key"].required = False
            self.fields["key"].help_text = _now("Of a layout; an instrument of theirs has its own.")

    def _choose(self, name: str, choices: list[Any]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices

    def clean(self) -> dict[str, Any]:
        """Make sure that a layout has a key, and that the kit goes with the base."""
        said = self.cleaned_data
        if "key" in said and not said["key"] and not said.get("base", "").startswith(_OWN):
            self.add_error("key", _now("A layout needs a key; write one, such as C."))
        if not self.errors:
            self._check()
        return said

    def _check(self) -> None:
        asked = self.asked()
        try:
            base = base_of(self.repertoire, asked)
        except CombwrightError as error:
            self.add_error("base", str(error))
            return
        try:
            check_plates(base, asked)
        except CombwrightError as error:
            self.add_error("kit" if asked["kit"] else "comb", str(error))

    def asked(self) -> dict[str, Any]:
        """Return the question, as an answer keeps it."""
        said = self.cleaned_data
        own = said["base"].startswith(_OWN)
        return {
            "layout": "" if own else said["base"],
            "serial": said["base"].removeprefix(_OWN) if own else "",
            "key": "" if own else said["key"],
            "most": int(said["most"]), "by": int(said["by"]), "player": said["player"],
            "rack": said["rack"], "kit": said["kit"], "comb": said["comb"],
        }  # fmt: skip
