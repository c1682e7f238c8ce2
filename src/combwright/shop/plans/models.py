"""Plans that were made, and the plates and parts set aside for orders.

A seat of a copy has at most one plate at a time. `Taken` is that plate's way from being set aside
to sitting in an instrument; the bin's `aside` counts those that still lie in it.
"""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.notes.names import note_name


class MadePlan(models.Model):
    """An answer of the planner, with what it was asked, until somebody sets it aside.

    `answer` is the document of `combwright plan --json`, `asked` what it was made for: orders left
    out or promised, sets expected. `stock` and `orders` are fingerprints of what it was made from.
    """

    made_at = models.DateTimeField(auto_now_add=True, db_index=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    asked = models.JSONField(default=dict)
    answer = models.JSONField(default=dict)
    set_aside_at = models.DateTimeField(null=True, blank=True)
    set_aside_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """How plans are listed."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"plan {self.pk}"


class Taken(models.Model):
    """The plate that a seat of a copy was given.

    `place` is `3 upper blow` or `kit 1`, as reservations call it. Pitches are thousandths of a
    cent, so that what was computed is what is compared.
    """

    ASIDE, PICKED, FITTED, GONE = "aside", "picked", "fitted", "gone"
    STATES: ClassVar = [
        (ASIDE, _("set aside")),
        (PICKED, _("picked")),
        (FITTED, _("fitted")),
        (GONE, _("gone")),
    ]

    order = models.ForeignKey("orders.Order", models.PROTECT, related_name="taken")
    wish = models.ForeignKey("orders.Wish", models.PROTECT, related_name="taken")
    copy = models.PositiveIntegerField()
    place = models.CharField(max_length=30)
    label = models.CharField(max_length=60, blank=True)
    midi = models.PositiveSmallIntegerField()
    wanted_mc = models.IntegerField()
    bin = models.ForeignKey("rack.Bin", models.PROTECT, related_name="taken")
    batch = models.ForeignKey("rack.Batch", models.PROTECT, related_name="taken")
    retune_mc = models.IntegerField(default=0)
    way = models.CharField(max_length=6, default="none")
    cost = models.DecimalField(max_digits=11, decimal_places=4, default=0)
    state = models.CharField(max_length=6, choices=STATES, default=ASIDE)
    pinned = models.BooleanField(default=False)
    plan = models.ForeignKey(MadePlan, models.PROTECT, null=True, blank=True, related_name="taken")
    plate = models.ForeignKey(
        "rack.Plate", models.PROTECT, null=True, blank=True, related_name="taken"
    )
    #: The ledger's entry by which it left its bin.
    entry = models.ForeignKey("rack.Entry", models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        """How taken plates are listed and guarded."""

        ordering: ClassVar = ["order_id", "wish_id", "copy", "id"]
        verbose_name_plural = "taken"
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["wish", "copy", "place"],
                condition=~models.Q(state="gone"),
                name="a_seat_has_one_plate",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["bin", "state"])]

    def __str__(self) -> str:
        return f"{self.order} {self.copy} {self.place}"

    @property
    def note(self) -> str:
        """The wanted note's name."""
        return note_name(self.midi)


class TakenPart(models.Model):
    """Parts set aside for an order, and used once it is on the bench."""

    order = models.ForeignKey("orders.Order", models.PROTECT, related_name="taken_parts")
    item = models.ForeignKey("rack.Item", models.PROTECT, related_name="taken")
    count = models.PositiveIntegerField()
    used = models.BooleanField(default=False)

    class Meta:
        """How taken parts are guarded."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "item"], name="order_takes_a_part_once"),
        ]

    def __str__(self) -> str:
        return f"{self.order} {self.item}"
