"""For which instrument a tab is worked out, how the tune may be moved, and who plays."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any, Final
from urllib.parse import urlencode

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.comb.changes import apply_changes, parse_changes
from combwright.comb.layouts import Layout
from combwright.errors import CombwrightError
from combwright.notes.keys import parse_key
from combwright.playing.costs import USUAL
from combwright.playing.tabbing import NEAREST, OCTAVES
from combwright.shop.designs import queries as designs
from combwright.shop.orders.queries import layout_titles
from combwright.shop.orders.wish_forms import KeyField

_FAR: Final = 24
_PLAYERS: Final = (
    ("beginner", _("a beginner")),
    ("intermediate", _("somebody with practice")),
    ("expert", _("an expert")),
)
_WORDS: Final = (
    ("octave", _("to the easiest octave")),
    ("best", _("to the easiest key")),
    ("0", _("not at all")),
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked about tunes: an instrument, how they may be moved, and who plays."""

    layout: str = "standard"
    key: str = "C"
    changes: str = ""
    shift: str = "octave"
    player: str = USUAL

    @property
    def address(self) -> str:
        """As it stands behind an address; what is usual is left out."""
        usual = asdict(Asked())
        return urlencode({n: v for n, v in asdict(self).items() if v != usual[n]})

    @property
    def shifts(self) -> tuple[int, ...]:
        """The shifts to try, in semitones."""
        words = {"octave": OCTAVES, "best": NEAREST}
        return words[self.shift] if self.shift in words else (int(self.shift),)

    def words(self, titles: Mapping[str, str] | None = None) -> str:
        """Say which instrument is meant.

        Parameters
        ----------
        titles : mapping or None
            Titles of layouts by their codes, where somebody looked up many at once.
        """
        known = layout_titles([self.layout]) if titles is None else titles
        said = {"layout": known[self.layout], "key": self.key}
        named = _now("%(layout)s, key of %(key)s") % said
        if not self.changes:
            return named
        return _now("%(named)s, changed: %(changes)s") % {"named": named, "changes": self.changes}

    def instrument(self) -> Layout:
        """Return the instrument as it sounds.

        Raises
        ------
        CombwrightError
            If a part of it cannot be read, or the changes do not fit the layout.
        """
        moved = designs.layout(self.layout).in_key(parse_key(self.key))
        return apply_changes(moved, parse_changes(self.changes))


NAMES: Final = tuple(each.name for each in fields(Asked))


def asked_in(query: Mapping[str, str]) -> dict[str, str]:
    """Return what an address asks, the usual where it says nothing."""
    return asdict(Asked()) | {name: query[name] for name in NAMES if name in query}


class TabForm(forms.Form):
    """What is asked about tunes."""

    layout = forms.ChoiceField(label=_("Layout"))
    key = KeyField()
    changes = forms.CharField(
        label=_("Changes"), required=False, max_length=2000,
        help_text=_("Such as 5 draw=F#5; 3 blow=A4. Notes as they sound in the key."),
        widget=forms.TextInput({"autocapitalize": "none", "spellcheck": "false"}),
    )  # fmt: skip
    shift = forms.ChoiceField(label=_("Move the tune"))
    player = forms.ChoiceField(
        label=_("Who plays"), choices=_PLAYERS,
        help_text=_("To a beginner bends and overbends cost more, to an expert less."),
    )  # fmt: skip

    def __init__(self, data: Mapping[str, str]) -> None:
        super().__init__(data)
        self.fields["key"].help_text = _now("Such as A, Bb, low F or high G.")
        layout, shift = self.fields["layout"], self.fields["shift"]
        assert isinstance(layout, forms.ChoiceField)
        assert isinstance(shift, forms.ChoiceField)
        layout.choices = list(_layouts(data.get("layout", "")))
        shift.choices = list(_shifts())

    def clean(self) -> dict[str, Any]:
        """Put the instrument together."""
        if not self.errors:
            try:
                self.instrument = self.asked.instrument()
            except CombwrightError as error:
                self.add_error("changes", str(error))
        return self.cleaned_data

    #: The instrument as it sounds, once all is read.
    instrument: Layout

    @property
    def asked(self) -> Asked:
        """What was asked, once it is read."""
        return Asked(**{name: str(self.cleaned_data[name]) for name in NAMES})


def _layouts(chosen: str) -> Iterator[tuple[str, str]]:
    codes = []
    for each in designs.layouts():
        codes.append(each.code)
        title = each.layout.title
        yield each.code, _now("%s (the shop's own)") % title if each.own else title
    if chosen and chosen not in codes:
        try:
            title = designs.layout(chosen).title
        except CombwrightError:
            return
        yield chosen, _now("%s (retired)") % title


def _shifts() -> Iterator[tuple[str, str | Promise]]:
    yield from _WORDS
    for by in (*range(1, _FAR + 1), *range(-1, -_FAR - 1, -1)):
        words = _now("up by %d semitones") if by > 0 else _now("down by %d semitones")
        yield str(by), words % abs(by)
