"""Plans that were made, and the plates and parts set aside for orders.

A seat of a copy has at most one plate at a time. `Taken` is that plate's way from being set aside
to sitting in an instrument; the bin's `aside` counts those that still lie in it.
"""

import json
import zlib
from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.notes.names import note_name


class MadePlan(models.Model):
    """An answer of the planner, with what it was asked, until somebody sets it aside.

    `head` is the document of `combwright plan --json` without its orders and shortages, which have
    tables of their own: an answer about 20,000 orders is too large to be read for one page. `asked`
    is what it was made for: orders left out or promised, sets expected. Plans of one `mark` were
    made of one and the same shop, apart from that.
    """

    made_at = models.DateTimeField(auto_now_add=True, db_index=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    asked = models.JSONField(default=dict)
    head = models.JSONField(default=dict)
    ready = models.PositiveIntegerField(default=0)
    waiting = models.PositiveIntegerField(default=0)
    what_if = models.BooleanField(default=False)
    mark = models.CharField(max_length=64, blank=True, db_index=True)
    #: The ledger's and the changes' newest when it was made: what is newer is not in it.
    entry = models.PositiveBigIntegerField(default=0)
    change = models.PositiveBigIntegerField(default=0)
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

    @property
    def all_orders(self) -> int:
        """How many orders it decided on."""
        return self.ready + self.waiting

    @property
    def answer(self) -> dict[str, Any]:
        """The document of `combwright plan --json`; reads all of it, so not for a page."""
        orders = [each.said for each in self.orders.all()]
        return {**self.head, "orders": orders, "shortages": [s.said for s in self.shortages.all()]}


class PlanOrder(models.Model):
    """What a plan says of one order.

    It names its order by number and holds no lock on it: keeping a plan makes nobody wait.
    """

    plan = models.ForeignKey(MadePlan, models.CASCADE, related_name="orders")
    position = models.PositiveIntegerField()
    order = models.ForeignKey(
        "orders.Order", models.DO_NOTHING, null=True, to_field="number", related_name="+",
        db_constraint=False,
    )  # fmt: skip
    version = models.PositiveIntegerField(null=True)
    ready = models.BooleanField()
    arrives = models.DateField(null=True)
    cost = models.DecimalField(max_digits=18, decimal_places=6, null=True)
    plates = models.PositiveIntegerField(default=0)
    retunes = models.PositiveIntegerField(default=0)
    #: The plates set aside for it when the plan was made that it would swap for others: row, copy,
    #: place, the bin of now and the plan's.
    moves = models.JSONField(default=list)
    moved = models.PositiveIntegerField(default=0)
    #: The positions of the shortages that it waits for.
    lacks = models.JSONField(default=list)
    #: Its part of the document, JSON packed by zlib; empty once the plan is too old to matter.
    packed = models.BinaryField(default=b"")

    class Meta:
        """How a plan's orders are listed and guarded."""

        ordering: ClassVar = ["plan_id", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["plan", "position"], name="plan_says_each_order_once"),
        ]
        indexes: ClassVar = [models.Index(fields=["plan", "order"])]

    def __str__(self) -> str:
        return f"{self.plan} {self.order_id}"

    @property
    def said(self) -> dict[str, Any]:
        """Its part of the plan's document."""
        if not self.packed:
            return {"order": self.order_id, "ready": self.ready, "instruments": [], "plates": []}
        said: dict[str, Any] = json.loads(zlib.decompress(self.packed))
        return said


class PlanShortage(models.Model):
    """A set of seats or parts that a plan's orders want more of than there is."""

    plan = models.ForeignKey(MadePlan, models.CASCADE, related_name="shortages")
    position = models.PositiveIntegerField()
    missing = models.PositiveIntegerField()
    waiting = models.PositiveIntegerField()
    text = models.TextField()
    #: Its part of the document.
    said = models.JSONField(default=dict)

    class Meta:
        """How a plan's shortages are listed and guarded."""

        ordering: ClassVar = ["plan_id", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["plan", "position"], name="plan_lacks_each_thing_once"),
        ]

    def __str__(self) -> str:
        return self.text


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

    @property
    def cents(self) -> float:
        """The retuning in cents."""
        return self.retune_mc / 1000


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
