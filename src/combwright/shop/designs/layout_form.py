"""A layout as it is filled in, in C: for each hole and deck the note, its breath and its cents."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.comb.layouts import Layout
from combwright.comb.seats import DECKS, MOST_HOLES, USUAL_DECK, Deck, Seat
from combwright.errors import CombwrightError
from combwright.files.layouts import MOST_CENTS
from combwright.files.settings import LONGEST_PROSE
from combwright.notes.names import note_name, parse_note
from combwright.shop.designs.forms import HolesForm, LineField, ProseField
from combwright.shop.designs.numbers import NumberField

_BREATHS: Final = [("blow", _("blow")), ("draw", _("draw"))]
_USUAL_BREATH: Final = {deck: breath for breath, deck in USUAL_DECK.items()}
_LONGEST_NOTE: Final = 20


class NoteField(LineField):
    """A note such as F#5; gives its MIDI number, None where it is left empty."""

    def clean(self, value: Any) -> Any:
        """Read the note, or say what is wrong with it."""
        text = super().clean(value)
        if not text:
            return None
        try:
            note = parse_note(text)
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error
        if note.cents:
            raise forms.ValidationError(_now("Give the cents in their own field."))
        return note.midi


@dataclass(frozen=True, slots=True)
class SeatRow:
    """The fields of one seat."""

    hole: int
    deck: str
    fields: tuple[BoundField, ...]


class LayoutForm(HolesForm):
    """A layout."""

    def build(self) -> None:
        """Add the description and the seats."""
        self.fields["about"] = ProseField(
            label=_("About"),
            help_text=_("What changes against the standard layout, and what that is good for."),
            required=False,
            max_length=LONGEST_PROSE,
        )
        for hole in range(1, MOST_HOLES + 1):
            for deck in DECKS:
                self._build_seat(hole, deck)

    def _build_seat(self, hole: int, deck: Deck) -> None:
        said = {"seat": f"{hole} {_deck_word(deck)}"}
        note = NoteField(
            label=_now("Note of %(seat)s") % said, required=False, max_length=_LONGEST_NOTE,
            widget=forms.TextInput({"autocomplete": "off", "autocapitalize": "characters"}),
        )  # fmt: skip
        breath = forms.ChoiceField(
            label=_now("Breath of %(seat)s") % said, choices=_BREATHS, initial=_USUAL_BREATH[deck]
        )
        cents = NumberField(
            -MOST_CENTS, MOST_CENTS, label=_now("Cents of %(seat)s") % said, required=False
        )
        for what, field in (("note", note), ("breath", breath), ("cents", cents)):
            self.add_row_field(f"{what}_{hole}_{deck}", hole, field)

    def ordinary_fields(self) -> Iterator[BoundField]:
        """Give the fields before the table of seats."""
        return (self[name] for name in ("title", "code", "about") if name in self.fields)

    def seat_rows(self) -> Iterator[SeatRow]:
        """Give the fields of each seat there is to be."""
        for hole in range(1, self.holes + 1):
            for deck in DECKS:
                names = (f"{what}_{hole}_{deck}" for what in ("note", "breath", "cents"))
                yield SeatRow(hole, _deck_word(deck), tuple(self[name] for name in names))

    def clean(self) -> dict[str, Any]:
        """Refuse cents of a seat that is empty."""
        said = self.cleaned_data
        for hole in range(1, self.holes + 1):
            for deck in DECKS:
                note = f"note_{hole}_{deck}"
                if said.get(f"cents_{hole}_{deck}") and said.get(note, "") is None:
                    self.add_error(note, _now("Say which note these cents are for."))
        return said

    def layout(self) -> Layout:
        """Return the layout that was filled in."""
        said = self.cleaned_data
        seats = []
        for hole in range(1, self.holes + 1):
            for deck in DECKS:
                midi = said[f"note_{hole}_{deck}"]
                if midi is not None:
                    cents = said[f"cents_{hole}_{deck}"] or 0.0
                    seats.append(Seat(hole, deck, said[f"breath_{hole}_{deck}"], midi, cents))
        return Layout(said["title"], tuple(seats), holes=self.holes, about=said["about"])


def filled_with(layout: Layout) -> dict[str, Any]:
    """Return what the form shows of a layout."""
    filled: dict[str, Any] = {
        "title": layout.title, "holes": layout.holes, "about": layout.about
    }  # fmt: skip
    for seat in layout.seats:
        place = f"{seat.hole}_{seat.deck}"
        filled[f"note_{place}"] = note_name(seat.midi)
        filled[f"breath_{place}"] = seat.breath
        filled[f"cents_{place}"] = seat.cents or ""
    return filled


def _deck_word(deck: Deck) -> str:
    return _now("upper") if deck == "upper" else _now("lower")
