"""What people fill in to take orders in from a file."""

from django import forms
from django.utils.translation import gettext_lazy as _

from combwright.shop.rack.import_forms import UploadForm

DRAFT, OPEN = "draft", "open"


class FileForm(UploadForm):
    """A file of orders, and how its numbers are written."""

    file = forms.FileField(
        label=_("Orders as CSV or XLSX"),
        help_text=_("At most 16 MiB. Columns: order, key, layout; and if wanted what, quantity, "
                    "changes, kit, temperament, a4, comb, due, priority, value, promised, split."),
    )  # fmt: skip


class AsForm(forms.Form):
    """As what the orders are taken in."""

    state = forms.ChoiceField(
        label=_("Take them in"),
        choices=[
            (DRAFT, _("as drafts, to be looked at or designed further")),
            (OPEN, _("open for planning at once")),
        ],
        initial=DRAFT,
        widget=forms.RadioSelect,
    )
