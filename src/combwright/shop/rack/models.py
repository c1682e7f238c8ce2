"""Bins, batches, and the ledger: every plate's coming and going is a line that is never changed.

A bin's `count` is the sum of its lines. It is kept beside them so that lists are fast, changed only
together with a line, and proved by `queries.ledger_faults`.
"""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.allocation import stock
from combwright.notes.names import note_name
from combwright.shop.rack.change_models import Change
from combwright.shop.rack.item_models import Item, ItemLine
from combwright.shop.rack.plate_models import Plate

__all__ = ["Batch", "Bin", "Change", "Entry", "Item", "ItemLine", "Line", "Plate", "Upload"]

MICRONS_PER_MM = 1000
MILLICENTS_PER_CENT = 1000


class Batch(models.Model):
    """Plates that came together and look alike."""

    code = models.CharField(_("batch"), max_length=40, unique=True)
    about = models.CharField(_("what it looks like"), max_length=200, blank=True)
    held = models.BooleanField(_("held"), default=False)
    held_because = models.CharField(_("why it is held"), max_length=200, blank=True)

    class Meta:
        """How batches are listed."""

        ordering: ClassVar = ["code"]
        verbose_name_plural = "batches"

    def __str__(self) -> str:
        return self.code


class Bin(models.Model):
    """A bin: plates of one kind and one batch.

    Pitch offset and slot are whole thousandths (of a cent, of a millimetre), so that what was
    measured is what is compared.
    """

    MOUNTS: ClassVar = [("front", _("front")), ("rear", _("rear"))]

    code = models.CharField(_("bin"), max_length=40, unique=True)
    midi = models.PositiveSmallIntegerField(_("note"), db_index=True)
    millicents = models.IntegerField(_("measured offset"), default=0)
    slot_um = models.PositiveIntegerField(_("slot"))
    mount = models.CharField(_("mount"), max_length=5, choices=MOUNTS)
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="bins", verbose_name=_("batch"))
    cut = models.CharField(_("cut for"), max_length=20, blank=True)
    walk = models.CharField(_("place on the walk"), max_length=40, blank=True)
    cost = models.DecimalField(_("cost of one plate"), max_digits=9, decimal_places=2, default=0)
    held = models.BooleanField(_("held"), default=False)
    count = models.PositiveIntegerField(_("plates"), default=0)
    #: How many of them are set aside for orders.
    aside = models.PositiveIntegerField(_("set aside"), default=0)
    counted_at = models.DateTimeField(_("last counted"), null=True, blank=True)

    class Meta:
        """How bins are listed and guarded."""

        ordering: ClassVar = ["walk", "code"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(count__gte=0), name="bin_is_never_negative"),
            models.CheckConstraint(
                condition=models.Q(aside__lte=models.F("count")), name="bin_holds_what_is_aside"
            ),
            models.CheckConstraint(condition=models.Q(midi__lte=127), name="bin_has_a_note"),
            models.CheckConstraint(
                condition=models.Q(mount__in=["front", "rear"]), name="bin_has_a_mount"
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["walk", "code"])]

    def __str__(self) -> str:
        return self.code

    @property
    def note(self) -> str:
        """The name of the note."""
        return note_name(self.midi)

    @property
    def cents(self) -> float:
        """The measured mean offset in cents."""
        return self.millicents / MILLICENTS_PER_CENT

    @property
    def slot_mm(self) -> float:
        """The slot's length in millimetres."""
        return self.slot_um / MICRONS_PER_MM

    def as_stock(self) -> stock.Bin:
        """Return the bin as the planner knows it; `batch` must be loaded."""
        return stock.Bin(
            code=self.code,
            midi=self.midi,
            cents=self.cents,
            slot_mm=self.slot_mm,
            mount="front" if self.mount == "front" else "rear",
            batch=self.batch.code,
            count=self.count,
            cost=self.cost,
            walk=self.walk,
            cut=self.cut,
            held=self.held or self.batch.held,
        )


class Entry(models.Model):
    """One thing somebody did, with a line for every bin and every item it touched."""

    RECEIVED, SLICED, COUNTED, SCRAPPED = "received", "sliced", "counted", "scrapped"
    RETURNED, MOVED, CORRECTED = "returned", "moved", "corrected"
    IMPORTED, OPENED = "imported", "opened"
    PICKED, MISSING, BUILT = "picked", "missing", "built"
    WHYS: ClassVar = [
        (RECEIVED, _("received")),
        (SLICED, _("set sliced")),
        (COUNTED, _("counted")),
        (SCRAPPED, _("scrapped")),
        (RETURNED, _("put back")),
        (MOVED, _("moved")),
        (CORRECTED, _("corrected")),
        (IMPORTED, _("imported")),
        (OPENED, _("opened")),
        (PICKED, _("picked")),
        (MISSING, _("not there")),
        (BUILT, _("built in")),
    ]

    made_at = models.DateTimeField(auto_now_add=True, db_index=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="entries")
    why = models.CharField(max_length=12, choices=WHYS)
    note = models.CharField(max_length=300, blank=True)
    corrects = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="corrections"
    )

    class Meta:
        """How entries are listed."""

        ordering: ClassVar = ["-id"]
        verbose_name_plural = "entries"
        indexes: ClassVar = [
            models.Index(
                fields=["corrects"],
                condition=models.Q(corrects__isnull=False),
                name="entries_that_correct",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_why_display()} {self.pk}"


class Line(models.Model):
    """So many plates into a bin, or out of it; `after` is what the bin held then."""

    entry = models.ForeignKey(Entry, models.PROTECT, related_name="lines")
    bin = models.ForeignKey(Bin, models.PROTECT, related_name="lines")
    change = models.IntegerField()
    after = models.PositiveIntegerField()

    class Meta:
        """How lines are found and guarded."""

        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [models.Index(fields=["bin", "-id"])]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(after__gte=0), name="line_leaves_no_debt"),
            models.UniqueConstraint(fields=["entry", "bin"], name="entry_touches_a_bin_once"),
        ]

    def __str__(self) -> str:
        return f"{self.bin} {self.change:+d}"


class Upload(models.Model):
    """A file that somebody looked at before taking it into the rack; booked once at most.

    `earlier` says what the import changed of bins there were, apart from counts: from a bin's key
    to each measure's value before and after, so that it can be put back.
    """

    DECIMALS: ClassVar = [("point", _("point, as in 14.2")), ("comma", _("comma, as in 14,2"))]

    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="uploads")
    name = models.CharField(max_length=60)
    data = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    decimal = models.CharField(max_length=5, choices=DECIMALS, blank=True)
    entry = models.OneToOneField(
        Entry, models.PROTECT, null=True, blank=True, related_name="upload"
    )
    earlier = models.JSONField(default=dict)
    measures_are_back = models.BooleanField(default=False)

    class Meta:
        """How uploads are listed."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return self.name
