"""Customers, what they order, and what has happened to each order.

An order ships together, complete or not at all; one that is to come in several deliveries is split
into orders that are parts of the first. Its wishes are the rows of an orders file: each says what
one copy is, and how many of them are wanted.
"""

from decimal import Decimal
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.shop.orders.states import STATES, State


class Customer(models.Model):
    """Somebody who orders; when their data are erased, their orders stay without them."""

    name = models.CharField(_("name"), max_length=120, db_index=True)
    email = models.EmailField(_("email"), blank=True)
    phone = models.CharField(_("telephone"), max_length=40, blank=True)
    address = models.TextField(_("address"), max_length=500, blank=True)
    about = models.TextField(_("note"), max_length=1000, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    erased_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """How customers are listed."""

        ordering: ClassVar = ["name", "id"]

    def __str__(self) -> str:
        return self.name


class Order(models.Model):
    """What ships together.

    `outer_key` is what another program calls it, so that the same order sent twice is one.
    """

    number = models.CharField(_("order"), max_length=40, unique=True)
    customer = models.ForeignKey(
        Customer, models.PROTECT, null=True, blank=True, related_name="orders",
        verbose_name=_("customer"),
    )  # fmt: skip
    part_of = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="deliveries"
    )
    outer_key = models.CharField(max_length=100, null=True, blank=True, unique=True)
    state = models.CharField(
        _("state"), max_length=10, choices=STATES, default=State.DRAFT.value, db_index=True
    )
    due = models.DateField(_("due"), null=True, blank=True)
    priority = models.PositiveIntegerField(_("priority"), default=5)
    value = models.DecimalField(
        _("value of one copy"), max_digits=14, decimal_places=2, default=Decimal(1)
    )
    price = models.DecimalField(_("price"), max_digits=11, decimal_places=2, null=True, blank=True)
    promised = models.BooleanField(_("promised"), default=False)
    note = models.TextField(_("note"), max_length=1000, blank=True)
    tracking = models.CharField(_("tracking note"), max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    #: Raised by every change, so that two who change it at once do not undo one another unseen.
    version = models.PositiveIntegerField(default=1)

    class Meta:
        """How orders are listed and guarded."""

        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [
            models.Index(fields=["state", "due"]),
            models.Index(fields=["state", "priority"]),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(state__in=[each.value for each in State]),
                name="order_state_is_known",
            ),
            models.CheckConstraint(
                condition=models.Q(value__gte=0), name="order_value_is_not_debt"
            ),
        ]

    def __str__(self) -> str:
        return self.number


class Wish(models.Model):
    """One row of an order: what one copy is, as an orders file says it, and how many."""

    INSTRUMENT, PLATES = "instrument", "plates"
    WHATS: ClassVar = [(INSTRUMENT, _("instrument")), (PLATES, _("loose plates"))]

    order = models.ForeignKey(Order, models.CASCADE, related_name="wishes")
    row = models.PositiveIntegerField()
    what = models.CharField(_("what"), max_length=10, choices=WHATS, default=INSTRUMENT)
    quantity = models.PositiveIntegerField(_("how many"), default=1)
    key = models.CharField(_("key"), max_length=10, default="C")
    layout = models.CharField(_("layout"), max_length=60, default="standard")
    changes = models.TextField(_("changes"), max_length=2000, blank=True)
    kit = models.TextField(_("kit"), max_length=1000, blank=True)
    temperament = models.CharField(_("temperament"), max_length=60, default="equal")
    a4 = models.DecimalField(_("A4 in hertz"), max_digits=6, decimal_places=2, default=Decimal(440))
    comb = models.CharField(_("comb"), max_length=60, blank=True)

    class Meta:
        """How wishes are listed and guarded."""

        ordering: ClassVar = ["order_id", "row"]
        verbose_name_plural = "wishes"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "row"], name="order_has_each_row_once"),
            models.CheckConstraint(
                condition=models.Q(quantity__gte=1), name="wish_wants_one_at_least"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order} {self.row}"


class Step(models.Model):
    """One thing that happened to an order: its timeline."""

    order = models.ForeignKey(Order, models.CASCADE, related_name="steps")
    at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    state = models.CharField(max_length=10, choices=STATES, blank=True)
    words = models.CharField(max_length=300)

    class Meta:
        """How steps are listed."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return self.words


class Nickname(models.Model):
    """What people of this shop call a layout; one word may mean two of them."""

    word = models.CharField(_("nickname"), max_length=60)
    layout = models.CharField(_("layout"), max_length=60)

    class Meta:
        """How nicknames are listed and guarded."""

        ordering: ClassVar = ["word", "layout"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["word", "layout"], name="nickname_means_a_layout_once"),
        ]

    def __str__(self) -> str:
        return self.word


class Share(models.Model):
    """A link by which a customer looks at an order, hears it and says yes; it expires."""

    order = models.ForeignKey(Order, models.CASCADE, related_name="shares")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    expires_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    #: The mark of what the customer saw as they said yes (`queries.shown_mark`).
    yes_mark = models.CharField(max_length=64, blank=True)
    yes_at = models.DateTimeField(null=True, blank=True)
    yes_name = models.CharField(max_length=120, blank=True)
    yes_words = models.CharField(max_length=500, blank=True)

    class Meta:
        """How shares are listed."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"{self.order} {self.expires_at}"


class OrdersFile(models.Model):
    """A file of orders that somebody looks at before taking it in; taken in, it is gone."""

    not_backed_up: ClassVar = True
    DECIMALS: ClassVar = [("point", _("point, as in 14.2")), ("comma", _("comma, as in 14,2"))]

    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    name = models.CharField(max_length=60)
    data = models.BinaryField()
    decimal = models.CharField(max_length=5, choices=DECIMALS, blank=True)

    class Meta:
        """How files are listed."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return self.name
