"""What people fill in at the bench."""

from django import forms
from django.utils.translation import gettext_lazy as _

from combwright.errors import CombwrightError
from combwright.notes.names import parse_note
from combwright.notes.pitch import millicents


class ScanForm(forms.Form):
    """A label's code, as a hand scanner types it."""

    text = forms.CharField(
        label=_("Scan a bin or a plate"),
        max_length=600,
        widget=forms.TextInput(
            {
                "autocomplete": "off", "autocapitalize": "none", "spellcheck": "false",
                "enterkeyhint": "go",
            }
        ),
        error_messages={"required": _("Scan a label, or type its code.")},
    )  # fmt: skip


class WhyForm(forms.Form):
    """Why something is taken away."""

    because = forms.CharField(
        label=_("What happened"),
        max_length=200,
        error_messages={"required": _("Say in a few words what happened.")},
    )


class SeenForm(forms.Form):
    """Which version of an order was looked at."""

    seen = forms.IntegerField(widget=forms.HiddenInput)


class CancelForm(SeenForm):
    """Why an order is cancelled."""

    because = forms.CharField(
        label=_("Why it is cancelled"),
        max_length=200,
        error_messages={"required": _("Say why, for whoever asks later.")},
    )


class FiledForm(forms.Form):
    """The true pitch of a plate that goes back into the rack."""

    pitch = forms.CharField(
        label=_("Its pitch now"),
        max_length=20,
        help_text=_("The note and the cents from it at A4 = 440 Hz, as in G4+3.5 or A#4-12."),
        widget=forms.TextInput({"autocomplete": "off", "spellcheck": "false"}),
        error_messages={"required": _("Measure it and type the note and the cents, as in G4+3.5.")},
    )

    def clean_pitch(self) -> int:
        """Return the pitch in thousandths of a cent above MIDI note 0."""
        try:
            note = parse_note(self.cleaned_data["pitch"].strip())
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error
        return millicents(note.midi, note.cents)


class SendForm(forms.Form):
    """What the parcel is called by whoever carries it."""

    tracking = forms.CharField(
        label=_("Tracking note"),
        max_length=200,
        required=False,
        help_text=_("Who carries it and its number, as the customer will want to know it."),
    )
