"""Measured samples: the plan, which plates it takes from which bins, and each reading."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.inspection.plans import Plan
from combwright.shop.rack.models import MILLICENTS_PER_CENT, Batch, Bin


class Inspection(models.Model):
    """A sample of a batch: so many plates measured, accepted with at most so many bad ones.

    The plan, the shares and the seed are kept as they were chosen, so that the sample and its
    chances can be worked out again.
    """

    COMPUTED, LETTER = "computed", "letter"
    WAYS: ClassVar = [
        (COMPUTED, _("the smallest sample that keeps both risks")),
        (LETTER, _("the published table, by size and acceptable share")),
    ]
    OPEN, ACCEPTED, REFUSED, GIVEN_UP = "open", "accepted", "refused", "given up"
    STATES: ClassVar = [
        (OPEN, _("being measured")),
        (ACCEPTED, _("accepted")),
        (REFUSED, _("refused")),
        (GIVEN_UP, _("given up")),
    ]

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="inspections")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="inspections"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    way = models.CharField(max_length=8, choices=WAYS, default=COMPUTED)
    letter = models.CharField(max_length=1, blank=True)
    lot = models.PositiveIntegerField(_("plates delivered"))
    sample = models.PositiveIntegerField(_("plates to measure"))
    accept = models.PositiveIntegerField(_("bad plates allowed"))
    good_percent = models.DecimalField(max_digits=6, decimal_places=3)
    bad_percent = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    producer_percent = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    consumer_percent = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    tolerance = models.PositiveIntegerField(_("tolerance in thousandths of a cent"))
    seed = models.BigIntegerField()
    state = models.CharField(max_length=8, choices=STATES, default=OPEN)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        """How inspections are listed and guarded."""

        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(sample__gte=1, sample__lte=models.F("lot")),
                name="sample_is_of_the_lot",
            ),
            models.UniqueConstraint(
                fields=["batch"],
                condition=models.Q(state="open"),
                name="one_open_sample_of_a_batch",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.batch} {self.pk}"

    @property
    def plan(self) -> Plan:
        """The plan as the core computes with it."""
        return Plan(self.lot, self.sample, self.accept)

    @property
    def open(self) -> bool:
        """Whether readings are still taken."""
        return self.state == self.OPEN

    @property
    def tolerance_cents(self) -> float:
        """How far from its bin's offset a plate may be."""
        return self.tolerance / MILLICENTS_PER_CENT


class Draw(models.Model):
    """How many plates of a bin the sample takes, and which; and what came of its offset.

    `expected` is the bin's measured offset when the sample was drawn: what a reading is judged
    by. `before` and `after` say what the bin's offset was changed from and to, once its mean of
    this sample was taken over.
    """

    inspection = models.ForeignKey(Inspection, models.CASCADE, related_name="draws")
    bin = models.ForeignKey(Bin, models.PROTECT, related_name="draws")
    place = models.PositiveIntegerField()
    plates = models.PositiveIntegerField()
    which = models.JSONField(default=list)
    expected = models.IntegerField()
    before = models.IntegerField(null=True, blank=True)
    after = models.IntegerField(null=True, blank=True)
    #: What `after` is above the sample's mean: plates sound otherwise in a seat than on a jig.
    shift = models.IntegerField(default=0)

    class Meta:
        """How draws are ordered and guarded."""

        ordering: ClassVar = ["place"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["inspection", "bin"], name="sample_draws_a_bin_once")
        ]

    def __str__(self) -> str:
        return f"{self.plates} of {self.bin}"

    @property
    def expected_cents(self) -> float:
        """The offset that a plate is judged by."""
        return self.expected / MILLICENTS_PER_CENT


class Reading(models.Model):
    """One plate measured: how far it is off, or that it is broken. Struck out, it no longer counts.

    `bad` is judged when the reading is taken, by the tolerance of the inspection. One that came by
    microphone has a key, made where it was heard, and tells how it was taken.
    """

    key = models.UUIDField(null=True, blank=True, unique=True)
    inspection = models.ForeignKey(Inspection, models.CASCADE, related_name="readings")
    bin = models.ForeignKey(Bin, models.PROTECT, related_name="readings")
    millicents = models.IntegerField(null=True, blank=True)
    broken = models.BooleanField(default=False)
    bad = models.BooleanField()
    sd_mc = models.PositiveIntegerField(null=True, blank=True)
    jig = models.CharField(_("jig"), max_length=40, blank=True)
    level_db = models.FloatField(null=True, blank=True)
    temperature = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="readings")
    at = models.DateTimeField(auto_now_add=True)
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        """How readings are ordered and guarded."""

        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(broken=True, millicents=None, bad=True)
                | models.Q(broken=False, millicents__isnull=False),
                name="reading_is_cents_or_broken",
            )
        ]

    def __str__(self) -> str:
        return f"{self.bin} {'broken' if self.broken else self.cents}"

    @property
    def cents(self) -> float | None:
        """How far the plate is off, in cents."""
        return None if self.millicents is None else self.millicents / MILLICENTS_PER_CENT
