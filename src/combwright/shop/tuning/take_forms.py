"""What is filled in to hand a take in."""

from typing import Any, Final, cast

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext_lazy as _

from combwright.errors import CombwrightError
from combwright.files.recordings import Recording as Packed
from combwright.files.recordings import pack_recording
from combwright.files.results import BadFile, Read
from combwright.shop.orders.forms import typed
from combwright.shop.rack.imports import file_name
from combwright.shop.register.models import Condition, Instrument, Take
from combwright.shop.tuning.aims import aims
from combwright.shop.tuning.forms import COLDEST, HOTTEST
from combwright.shop.tuning.models import Microphone
from combwright.shop.tuning.take_actions import NewTake
from combwright.shop.tuning.take_order import targets
from combwright.shop.tuning.take_queries import heard_takes


class _Warmth(forms.DecimalField):
    """Degrees, with a comma or a point."""

    def to_python(self, value: Any) -> Any:
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)


class TakeForm(forms.Form):
    """A recording of a whole instrument, and how it was made.

    Parameters
    ----------
    instrument : Instrument
        Whose seats the order of playing names.
    """

    key = forms.UUIDField(widget=forms.HiddenInput())
    file = forms.FileField(
        label=_("Recording, WAV or FLAC"),
        help_text=_("Every hole, blow and draw, each for a second; at most 5 minutes and 16 MiB."),
        widget=forms.ClearableFileInput({"accept": ".wav,.flac,audio/wav,audio/flac"}),
    )
    condition = forms.ChoiceField(
        label=_("How it was mounted"),
        choices=[each for each in Condition.choices if each[0] != Condition.BARE],
    )
    microphone = forms.ModelChoiceField(
        Microphone.objects.all(),
        label=_("Microphone"),
        required=False,
        empty_label=_("one that has no name here"),
    )
    temperature = _Warmth(
        label=_("Temperature in °C"), required=False, min_value=COLDEST, max_value=HOTTEST,
        max_digits=4, decimal_places=1, widget=typed("decimal"),
    )  # fmt: skip
    played = forms.CharField(
        label=_("Order of playing"),
        required=False,
        max_length=2000,
        help_text=_("As in “1 blow, 1 draw, 2 blow”; left empty: hole by hole, blow first."),
    )

    def __init__(self, *args: Any, instrument: Instrument, **options: Any) -> None:
        super().__init__(*args, **options)
        self._instrument = instrument

    def clean_file(self) -> Read[Packed]:
        """Read the recording, and pack what is kept of it."""
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        self.title = file_name(file.name or "")
        try:
            return pack_recording(file.read(), self.title)
        except BadFile as error:
            raise forms.ValidationError(str(error)) from error

    def clean_played(self) -> str:
        """See that the order of playing names seats that hold a reed."""
        played: str = self.cleaned_data["played"].strip()
        try:
            targets(aims(self._instrument), played)
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error
        return played

    def new(self) -> NewTake:
        """Return the take; the form must be valid."""
        given = self.cleaned_data
        return NewTake(
            given["key"], self.title, given["file"], given["condition"], given["temperature"],
            given["microphone"], given["played"],
        )  # fmt: skip

    @property
    def first_words(self) -> str:
        """The first thing that is wrong, in one line."""
        where, words = next(iter(self.errors.items()))
        if where in ("file", "played", "__all__"):
            return str(words[0])
        return f"{self.fields[where].label or where}: {words[0]}"


class AgainstForm(forms.Form):
    """What a take is to stand beside.

    Parameters
    ----------
    take : Take
        The one that is there already.
    """

    MOST: Final = 50
    same = forms.ModelChoiceField(
        Take.objects.none(),
        label=_("Another take of this instrument"),
        required=False,
        empty_label=_("none"),
    )
    serial = forms.CharField(
        label=_("Or the newest take of the instrument with this serial number"),
        max_length=20,
        required=False,
    )

    def __init__(self, *args: Any, take: Take, **options: Any) -> None:
        super().__init__(*args, **options)
        self._take = take
        others = heard_takes(take.instrument).exclude(pk=take.pk).select_related("by")
        field = cast("forms.ModelChoiceField[Take]", self.fields["same"])
        field.queryset = others
        field.choices = [("", _("none")), *((t.pk, _told(t)) for t in others[: self.MOST])]

    def clean(self) -> dict[str, Any]:
        """Find the other take."""
        given = super().clean() or {}
        if self.errors:
            return given
        other, serial = given["same"], given["serial"].strip()
        if (other is None) == (not serial):
            raise forms.ValidationError(
                _("Choose a take, or type a serial number: one of the two.")
            )
        if serial:
            other = self._newest(serial)
        given["other"] = other
        return given

    def _newest(self, serial: str) -> Take:
        instrument = Instrument.objects.filter(serial=serial).first()
        if instrument is None:
            unknown = _("There is no instrument %(serial)s.") % {"serial": repr(serial)}
            raise forms.ValidationError({"serial": unknown})
        other = heard_takes(instrument).exclude(pk=self._take.pk).first()
        if other is None:
            words = _("Instrument %(serial)s has no other take that was heard and counts.")
            raise forms.ValidationError({"serial": words % {"serial": serial}})
        return other


def _told(take: Take) -> str:
    """Name a take in a list: its number, when, how mounted and by whom."""
    when = date_format(localtime(take.at), "SHORT_DATETIME_FORMAT")
    return f"{take.pk}: {when}, {take.get_condition_display()}, {take.by}"
