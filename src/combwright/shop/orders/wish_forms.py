"""What is filled in while a wish is designed: a seat, a start, two lines of notes, the rest."""

from collections.abc import Iterable, Iterator
from typing import Any, Final

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.comb.changes import parse_kit
from combwright.comb.reach import POSITIONS, SCALES
from combwright.errors import CombwrightError
from combwright.notes.keys import ORDINARY_KEYS, parse_key
from combwright.notes.names import parse_note
from combwright.notes.pitch import HIGHEST_A4_HZ, LOWEST_A4_HZ
from combwright.notes.temperament import NAMES
from combwright.shop.designs.forms import LineField
from combwright.shop.designs.numbers import NumberField, WholeField
from combwright.shop.designs.queries import KnownComb
from combwright.shop.orders.models import Wish
from combwright.shop.orders.queries import layouts_named
from combwright.shop.orders.wish_drafts import Facts

MOST_COPIES: Final = 10_000
_LONGEST_LINE: Final = 400
_A4_DECIMALS: Final = 2


class KeyField(LineField):
    """A key such as `Bb` or `low F`, as people write it."""

    def __init__(self) -> None:
        keys = ", ".join(ORDINARY_KEYS)
        super().__init__(
            label=_("Key"),
            help_text=_("One of %s; low or high before it for another octave.") % keys,
            max_length=10,
            widget=forms.TextInput({"list": "keys", "autocomplete": "off"}),
        )

    def clean(self, value: Any) -> str:
        """Read the key, and return how it is written."""
        try:
            return parse_key(str(super().clean(value))).name
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error


class NoteField(LineField):
    """A note that may carry cents, such as `F#5-2.5`."""

    def clean(self, value: Any) -> Any:
        """Read the note, or say what is wrong with it."""
        text = super().clean(value)
        try:
            return parse_note(text)
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error


class SeatForm(forms.Form):
    """The note of the chosen seat."""

    note = NoteField(
        label=_("Note"),
        help_text=_("As it sounds, such as F#5 or Bb4; with cents, A4+13.5."),
        max_length=20,
        widget=forms.TextInput(
            {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
    )


class StartForm(forms.Form):
    """A layout and a key to start from."""

    do = forms.CharField(widget=forms.HiddenInput, initial="start")
    layout = LineField(
        label=_("Layout"),
        help_text=_("Its name, its title, or what you call it here."),
        max_length=60,
        widget=forms.TextInput({"list": "layouts", "autocomplete": "off"}),
    )
    key = KeyField()

    def clean_layout(self) -> str:
        """Find the layout that is meant; a word with two meanings asks which."""
        word = str(self.cleaned_data["layout"])
        found = layouts_named(word)
        if not found:
            raise forms.ValidationError(
                _now("No layout here is called %r; choose one of the list.") % word
            )
        if len(found) > 1:
            self.meanings = found
            raise forms.ValidationError(
                _now("%(word)r means more than one layout here: %(layouts)s. Choose which.")
                % {"word": word, "layouts": ", ".join(found)}
            )
        return found[0]

    #: The layouts to choose from where the word means several.
    meanings: list[str] | None = None


class NotesForm(forms.Form):
    """Two lines of notes."""

    WRITTEN: Final = [("c", _("in C, to be moved into the key")), ("sounding", _("as they sound"))]

    do = forms.CharField(widget=forms.HiddenInput, initial="notes")
    blow = LineField(
        label=_("Blow notes"),
        help_text=_("Hole 1 first, such as C4 E4 G4; a hyphen is an empty seat."),
        max_length=_LONGEST_LINE,
        widget=forms.TextInput({"autocomplete": "off", "spellcheck": "false"}),
    )
    draw = LineField(
        label=_("Draw notes"),
        max_length=_LONGEST_LINE,
        widget=forms.TextInput({"autocomplete": "off", "spellcheck": "false"}),
    )
    written = forms.ChoiceField(
        label=_("They are written"), choices=WRITTEN, initial="c", widget=forms.RadioSelect
    )


class FactsForm(forms.Form):
    """Everything of a wish but its seats.

    Parameters
    ----------
    combs : iterable of KnownComb
        Those that can be chosen.
    """

    do = forms.CharField(widget=forms.HiddenInput, initial="facts")
    key = KeyField()
    what = forms.ChoiceField(label=_("What"), choices=Wish.WHATS)
    quantity = WholeField(1, MOST_COPIES, label=_("How many"))
    kit = LineField(
        label=_("Kit"),
        help_text=_("Spare plates that go along, such as 5 draw; 5 draw=F#5."),
        required=False,
        max_length=1000,
        widget=forms.TextInput({"autocomplete": "off", "spellcheck": "false"}),
    )
    temperament = forms.ChoiceField(
        label=_("Temperament"), choices=[(name, name) for name in NAMES]
    )  # fmt: skip
    a4 = NumberField(LOWEST_A4_HZ, HIGHEST_A4_HZ, label=_("A4 in hertz"))
    comb = forms.ChoiceField(label=_("Comb"), required=False)

    def __init__(
        self, data: Any = None, *, combs: Iterable[KnownComb], facts: Facts, auto_id: str = "id_%s"
    ) -> None:
        super().__init__(data, auto_id=auto_id, initial=_shown(facts))
        field = self.fields["comb"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = list(_comb_choices(combs, facts.comb))

    def clean_a4(self) -> str:
        """Refuse more decimals than are kept."""
        hz = float(self.cleaned_data["a4"])
        if hz != round(hz, _A4_DECIMALS):
            raise forms.ValidationError(_now("Two decimals are kept; round it yourself."))
        return f"{hz:.2f}".rstrip("0").rstrip(".")

    def clean_kit(self) -> str:
        """Refuse what is no list of plates; whether they have a seat is told beside the drawing."""
        text = str(self.cleaned_data["kit"])
        try:
            parse_kit(text)
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error
        return text


class ScaleForm(forms.Form):
    """Which scale is looked at."""

    seat = forms.CharField(widget=forms.HiddenInput, required=False)
    position = forms.ChoiceField(
        label=_("Position"), choices=[(str(n), str(n)) for n in POSITIONS], required=False
    )
    scale = forms.ChoiceField(
        label=_("Scale"), choices=[(name, name) for name in SCALES], required=False
    )

    def chosen(self) -> tuple[int, str]:
        """Return the position and the scale; what is none is taken as the usual one."""
        said = self.cleaned_data if self.is_valid() else {}
        return int(said.get("position") or 1), said.get("scale") or "major"


def _shown(facts: Facts) -> dict[str, Any]:
    return {
        "do": "facts", "key": facts.key, "what": facts.what, "quantity": facts.quantity,
        "kit": facts.kit, "temperament": facts.temperament, "a4": float(facts.a4),
        "comb": facts.comb,
    }  # fmt: skip


def _comb_choices(combs: Iterable[KnownComb], chosen: str) -> Iterator[tuple[str, str]]:
    known = list(combs)
    usual = next((each.comb.title for each in known if each.usual), "")
    yield "", _now("the usual one: %s") % usual
    for each in known:
        yield each.code, each.comb.title
    if chosen and chosen not in {each.code for each in known}:
        yield chosen, _now("%s (retired)") % chosen
