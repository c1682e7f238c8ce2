"""What programs send about orders, under the names of the columns of an orders file."""

from decimal import Decimal
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from combwright.shop.api.given import Bounded, example
from combwright.shop.api.order_words import (
    A4,
    Changes,
    Day,
    Email,
    Kit,
    Line120,
    Moment,
    Name60,
    Name60OrNone,
    OrderNumber,
    OuterKey,
    Phone,
    PostAddress,
    Priority,
    Quantity,
    Remarks,
    StateName,
    What,
    WishKey,
)
from combwright.shop.api.words import LastNumber, Money, Number, Why


class CustomerIn(BaseModel):
    """Who orders; one of the same name and email is the same."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    name: Line120 = Field(description="What they are called.")
    email: Email = Field("", description="Where to write to.")
    phone: Phone = Field("", description="Where to ring.")
    address: PostAddress = Field("", description="Where to send to; it may have several lines.")

    def facts(self) -> dict[str, str]:
        """Return the fields of a customer."""
        return self.model_dump()


class WishIn(BaseModel):
    """One row of an order: what one copy is, and how many."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    what: What = Field("instrument", description="A whole instrument, or the kit's plates only.")
    quantity: Quantity = Field(1, description="How many copies.")
    key: WishKey = Field(description="The key, as A, Bb or low F.")
    layout: Name60 = Field(description="As the list of layouts names it.")
    changes: Changes = Field("", description="As in an orders file: 5 draw=F#5; ...")
    kit: Kit = Field("", description="As in an orders file: 5 draw; 4 draw; ...")
    temperament: Name60 = Field("equal", description="As equal, 5-limit or 7-limit.")
    a4: A4 = Field(440, description="In hertz; kept to a hundredth.")
    comb: Name60OrNone = Field("", description="A comb of the shop; left out, the usual one.")

    def facts(self) -> dict[str, Any]:
        """Return the fields of a wish."""
        return {**self.model_dump(), "a4": Decimal(f"{self.a4:.2f}")}


class OrderIn(BaseModel):
    """An order: it ships together, complete or not at all."""

    model_config = example(
        outer_key="web-1041", customer={"name": "Ada Rowe", "email": "ada@rowe.example"},
        due="2027-03-01", wishes=[{"key": "A", "layout": "standard"}],
    )  # fmt: skip

    order: OrderNumber | None = Field(None, description="Its number; left out, the next one.")
    outer_key: OuterKey | None = Field(
        None, description="What your program calls it: sent again, it is the same order."
    )
    customer: CustomerIn | None = Field(None, description="Who orders.")
    due: Day | None = Field(None, description="By when.")
    priority: Priority = Field(5, description="1 is served first.")
    value: Money = Field("1", description="Of one copy, to choose between orders by.")
    price: Money | None = Field(None, description="What the customer pays.")
    promised: bool = Field(False, description="Served whatever else waits.")
    note: Remarks = Field("", description="For the people of the shop.")
    draft: bool = Field(False, description="Keep it to be designed further, out of plans.")
    wishes: Annotated[list[WishIn], Field(min_length=1, max_length=100)] = Field(
        description="What is wanted, row by row."
    )

    def facts(self) -> dict[str, Any]:
        """Return the fields of an order."""
        return {
            "number": self.order or "",
            "outer_key": self.outer_key,
            "due": self.due,
            "priority": self.priority,
            "value": Decimal(self.value),
            "price": None if self.price is None else Decimal(self.price),
            "promised": self.promised,
            "note": self.note,
        }


class WhyCancelled(BaseModel):
    """Why an order is cancelled."""

    model_config = example(because="the customer changed their mind")

    because: Why = Field(description="Why, for the order's timeline.")


class OrdersAsked(Bounded):
    """Which orders to list."""

    after: LastNumber = Field(0, description="The `next` of the list before.")
    state: StateName | None = Field(None, description="Only those in this state.")
    changed_since: Moment | None = Field(
        None,
        description="Only those with a step at or after this time, as 2026-05-04T09:12:00Z. Give a "
        "time some minutes before you last asked: a step may come to light late.",
    )


class PlansAsked(Bounded):
    """Which part of the list of plans, the newest first."""

    before: Number | None = Field(None, description="The `next` of the list before.")


class InstrumentsAsked(Bounded):
    """Which part of the list of instruments, in the order of their making."""

    after: LastNumber = Field(0, description="The `next` of the list before.")
