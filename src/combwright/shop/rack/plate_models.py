"""Single plates that carry a label of their own.

Most plates are known by their bin alone. One with a label is known by its code too, wherever it
goes: its own measured offset stays with it.
"""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.notes.names import note_name

_MILLICENTS_PER_CENT = 1000
_MICRONS_PER_MM = 1000


class Plate(models.Model):
    """A plate with a label; `bin` is where it lies, or empty once it has left the rack."""

    code = models.CharField(_("plate"), max_length=20, unique=True)
    bin = models.ForeignKey(
        "rack.Bin", models.PROTECT, null=True, blank=True, related_name="labelled",
        verbose_name=_("bin"),
    )  # fmt: skip
    batch = models.ForeignKey("rack.Batch", models.PROTECT, related_name="labelled")
    midi = models.PositiveSmallIntegerField(_("note"))
    millicents = models.IntegerField(_("measured offset"), null=True, blank=True)
    slot_um = models.PositiveIntegerField(_("slot"))
    mount = models.CharField(_("mount"), max_length=5)
    made_at = models.DateTimeField(auto_now_add=True)
    left_because = models.CharField(_("why it left the rack"), max_length=200, blank=True)

    class Meta:
        """How plates are listed and guarded."""

        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(bin__isnull=False) | ~models.Q(left_because=""),
                name="plate_is_in_a_bin_or_left_for_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def note(self) -> str:
        """The name of the note."""
        return note_name(self.midi)

    @property
    def cents(self) -> float | None:
        """The plate's own measured offset in cents; None while nobody has measured it."""
        return None if self.millicents is None else self.millicents / _MILLICENTS_PER_CENT

    @property
    def slot_mm(self) -> float:
        """The slot's length in millimetres."""
        return self.slot_um / _MICRONS_PER_MM
