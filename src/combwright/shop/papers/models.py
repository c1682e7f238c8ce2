"""The label sizes a shop has, and the address that its labels lead to."""

from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.sheets import label_sizes

if TYPE_CHECKING:
    from django_stubs_ext import StrPromise


def _margin(name: "StrPromise") -> "models.DecimalField[Decimal, Decimal]":
    return models.DecimalField(name, max_digits=6, decimal_places=2, default=Decimal(0))


class LabelSize(models.Model):
    """A kind of label in the drawer: a sheet of so many, or a roll."""

    SHEET, ROLL = "sheet", "roll"
    KINDS: ClassVar = [(SHEET, _("on a sheet")), (ROLL, _("on a roll"))]
    PAPERS: ClassVar = [("A4", _("A4, 210 x 297 mm")), ("letter", _("letter, 215.9 x 279.4 mm"))]

    title = models.CharField(_("name"), max_length=60, unique=True)
    kind = models.CharField(_("kind"), max_length=5, choices=KINDS, default=SHEET)
    paper = models.CharField(_("paper"), max_length=6, choices=PAPERS, default="A4")
    width_mm = models.DecimalField(_("width of a label (mm)"), max_digits=6, decimal_places=2)
    height_mm = models.DecimalField(_("height of a label (mm)"), max_digits=6, decimal_places=2)
    columns = models.PositiveSmallIntegerField(_("labels across"), default=1)
    rows = models.PositiveSmallIntegerField(_("labels down"), default=1)
    left_mm = _margin(_("left margin (mm)"))
    top_mm = _margin(_("top margin (mm)"))
    gap_x_mm = _margin(_("gap between columns (mm)"))
    gap_y_mm = _margin(_("gap between rows (mm)"))

    class Meta:
        """How sizes are listed and guarded."""

        ordering: ClassVar = ["-kind", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(kind__in=["sheet", "roll"]), name="labelsize_has_a_kind"
            )
        ]

    def __str__(self) -> str:
        return self.title

    def as_size(self) -> label_sizes.LabelSize:
        """Return the size as the press knows it."""
        wide, high = float(self.width_mm), float(self.height_mm)
        if self.kind == self.ROLL:
            return label_sizes.LabelSize(wide, high)
        return label_sizes.LabelSize(
            wide,
            high,
            "letter" if self.paper == "letter" else "A4",
            self.columns,
            self.rows,
            float(self.left_mm),
            float(self.top_mm),
            float(self.gap_x_mm),
            float(self.gap_y_mm),
        )


class Habit(models.Model):
    """What was chosen the last time labels were printed, for the whole shop; one row."""

    key = models.PositiveSmallIntegerField(
        primary_key=True, default=1, validators=[MinValueValidator(1), MaxValueValidator(1)]
    )
    origin = models.CharField(_("address of the shop"), max_length=100, blank=True)
    size = models.ForeignKey(LabelSize, models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        """Keep it to one row."""

        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(key=1), name="one_habit")
        ]

    def __str__(self) -> str:
        return self.origin
