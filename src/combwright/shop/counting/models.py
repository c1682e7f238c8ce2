"""Counting rounds, the bins each one asks for, and what the last count of a bin said."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.shop.rack.models import Bin, Entry


class Round(models.Model):
    """A walk through the rack to count some of its bins; booked once, or given up."""

    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="rounds")
    made_at = models.DateTimeField(auto_now_add=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    entry = models.OneToOneField(Entry, models.PROTECT, null=True, blank=True, related_name="round")
    closed_at = models.DateTimeField(_("booked or given up"), null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        """How rounds are listed and guarded."""

        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(entry=None) | models.Q(closed_at__isnull=False),
                name="booked_round_is_closed",
            )
        ]

    def __str__(self) -> str:
        return f"{self._meta.verbose_name} {self.pk}"

    @property
    def open(self) -> bool:
        """Whether it may still be counted in."""
        return self.closed_at is None

    @property
    def given_up(self) -> bool:
        """Whether it ended without anything booked."""
        return self.closed_at is not None and self.entry_id is None


class Ask(models.Model):
    """A bin that a round asks to be counted.

    `held_then` is what the ledger said in the moment of counting, so a move before or after is no
    difference. `line_then` is the bin's newest ledger line of that moment: a count or correction
    that was booked since then makes this one void. `earlier` keeps what was counted before a
    second count: whoever counted, and what.
    """

    NEVER, DIFFERED, NEEDED, TAKEN, LONG = "never", "differed", "needed", "taken", "long"
    WHYS: ClassVar = [
        (NEVER, _("never counted")),
        (DIFFERED, _("differed at the last count")),
        (NEEDED, _("about to be needed")),
        (TAKEN, _("much was taken")),
        (LONG, _("not counted for long")),
    ]

    round = models.ForeignKey(Round, models.CASCADE, related_name="asks")
    bin = models.ForeignKey(Bin, models.PROTECT, related_name="asks")
    place = models.PositiveIntegerField()
    why = models.CharField(max_length=10, choices=WHYS)
    found = models.PositiveIntegerField(null=True, blank=True)
    held_then = models.PositiveIntegerField(null=True, blank=True)
    line_then = models.BigIntegerField(default=0)
    counted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    counted_at = models.DateTimeField(null=True, blank=True)
    skipped = models.BooleanField(default=False)
    recounts = models.PositiveSmallIntegerField(default=0)
    earlier = models.JSONField(default=list)

    class Meta:
        """How asks are ordered and guarded."""

        ordering: ClassVar = ["place"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["round", "bin"], name="round_asks_for_a_bin_once"),
            models.UniqueConstraint(fields=["round", "place"], name="round_has_one_bin_a_place"),
            models.CheckConstraint(
                condition=models.Q(found=None, held_then=None, counted_at=None)
                | models.Q(found__isnull=False, held_then__isnull=False, counted_at__isnull=False),
                name="count_is_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.bin} in {self.round}"

    @property
    def difference(self) -> int | None:
        """Plates found more (above 0) or fewer than the ledger said."""
        if self.found is None or self.held_then is None:
            return None
        return self.found - self.held_then

    @property
    def state(self) -> str:
        """What changes with every count, to see whether somebody counted meanwhile."""
        return f"{self.recounts}.{self.counted_at.timestamp() if self.counted_at else ''}"


class LastCount(models.Model):
    """What the last count of a bin changed, whether in a round or of this bin alone."""

    bin = models.OneToOneField(Bin, models.CASCADE, primary_key=True, related_name="last_count")
    change = models.IntegerField()
    entry = models.ForeignKey(Entry, models.CASCADE, related_name="+")

    def __str__(self) -> str:
        return f"{self.bin} {self.change:+d}"


class Bookmark(models.Model):
    """How far the ledger was read for counts; there is one."""

    entry = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return str(self.entry)
