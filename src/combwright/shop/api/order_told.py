"""What programs are told of orders, plans and instruments."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any, Literal, Self

from pydantic import BaseModel, Field

from combwright.notes.names import note_name
from combwright.shop.api.order_words import StateName
from combwright.shop.api.told import money
from combwright.shop.orders.models import Customer, Order, Step, Wish
from combwright.shop.plans.models import MadePlan, Taken
from combwright.shop.register.models import Fitted, Instrument

_PER_CENT = 1000


class CustomerTold(BaseModel):
    """Who orders; nothing but a word where their data were erased."""

    name: str
    email: str
    phone: str
    address: str

    @classmethod
    def of(cls, customer: Customer) -> Self:
        """Tell of a customer."""
        return cls(
            name=customer.name, email=customer.email, phone=customer.phone, address=customer.address
        )


class WishTold(BaseModel):
    """One row of an order."""

    row: int
    what: Literal["instrument", "plates"]
    quantity: int
    key: str
    layout: str
    changes: str
    kit: str
    temperament: str
    a4: float
    comb: str

    @classmethod
    def of(cls, wish: Wish) -> Self:
        """Tell of a wish."""
        said = {name: getattr(wish, name) for name in cls.model_fields}
        return cls.model_validate({**said, "a4": float(wish.a4)})


class OrderTold(BaseModel):
    """An order and where it is on its way."""

    order: str
    outer_key: str | None
    state: StateName
    version: int = Field(description="Rises with every change.")
    due: date | None
    priority: int
    value: str = Field(description="Of one copy, with two decimals.")
    price: str | None
    promised: bool
    tracking: str
    part_of: str | None = Field(description="The order that it is one delivery of.")
    made_at: datetime

    @classmethod
    def of(cls, order: Order) -> Self:
        """Tell of an order; the one that it is a part of should be loaded."""
        return cls.model_validate(_order(order))


def _order(order: Order) -> dict[str, object]:
    return {
        "order": order.number,
        "outer_key": order.outer_key,
        "state": order.state,
        "version": order.version,
        "due": order.due,
        "priority": order.priority,
        "value": money(order.value),
        "price": None if order.price is None else money(order.price),
        "promised": order.promised,
        "tracking": order.tracking,
        "part_of": order.part_of.number if order.part_of else None,
        "made_at": order.made_at,
    }


class Orders(BaseModel):
    """A part of the list of orders, in the order of their making."""

    orders: list[OrderTold]
    next: int | None = Field(description="Give it as `after` for the following part.")


class StepTold(BaseModel):
    """One thing that happened to an order."""

    at: datetime
    by: str = Field(description="Who did it; empty for a program.")
    state: str = Field(description="The state it came into by this; else empty.")
    words: str

    @classmethod
    def of(cls, step: Step) -> Self:
        """Tell of a step; who did it must be loaded."""
        by = step.by.full_name if step.by else ""
        return cls(at=step.at, by=by, state=step.state, words=step.words)


class TakenTold(BaseModel):
    """The plate that a seat was given."""

    row: int
    copy_number: int = Field(description="Which copy of the row.")
    place: str = Field(description="As 3 upper blow, or kit 1.")
    pitch: str
    bin: str
    batch: str
    retune_cents: float
    state: Literal["aside", "picked", "fitted"]

    @classmethod
    def of(cls, taken: Taken) -> Self:
        """Tell of a plate; its wish, bin and batch must be loaded."""
        return cls.model_validate(
            {
                "row": taken.wish.row,
                "copy_number": taken.copy,
                "place": taken.place,
                "pitch": taken.note,
                "bin": taken.bin.code,
                "batch": taken.batch.code,
                "retune_cents": taken.retune_mc / _PER_CENT,
                "state": taken.state,
            }
        )


class InstrumentTold(BaseModel):
    """An instrument with its serial number."""

    serial: str
    order: str
    row: int
    copy_number: int = Field(description="Which copy of the row.")
    title: str
    made_at: datetime
    finished_at: datetime | None
    sent_at: datetime | None
    taken_apart_at: datetime | None

    @classmethod
    def of(cls, made: Instrument) -> Self:
        """Tell of an instrument; its order and wish must be loaded."""
        return cls.model_validate(_instrument(made))


def _instrument(made: Instrument) -> dict[str, object]:
    return {
        "serial": made.serial,
        "order": made.order.number,
        "row": made.wish.row,
        "copy_number": made.copy,
        "title": made.title,
        "made_at": made.made_at,
        "finished_at": made.finished_at,
        "sent_at": made.sent_at,
        "taken_apart_at": made.taken_apart_at,
    }


class OrderWhole(OrderTold):
    """An order with everything that belongs to it."""

    customer: CustomerTold | None
    note: str
    wishes: list[WishTold]
    steps: list[StepTold] = Field(description="Its timeline, the newest 200 steps first.")
    taken: list[TakenTold] = Field(description="Its plates, at most 5,000 of them.")
    instruments: list[InstrumentTold]

    @classmethod
    def whole(
        cls,
        order: Order,
        steps: Sequence[Step],
        taken: Sequence[Taken],
        instruments: Sequence[Instrument],
    ) -> Self:
        """Tell of an order; its customer and wishes should be loaded."""
        more = {
            "customer": CustomerTold.of(order.customer) if order.customer else None,
            "note": order.note,
            "wishes": [WishTold.of(each) for each in order.wishes.all()],
            "steps": [StepTold.of(each) for each in steps],
            "taken": [TakenTold.of(each) for each in taken],
            "instruments": [InstrumentTold.of(each) for each in instruments],
        }
        return cls.model_validate(_order(order) | more)


class PlanTold(BaseModel):
    """A plan in a few numbers."""

    plan: int
    made_at: datetime
    made_by: str
    ready: int = Field(description="Orders that it can build in full.")
    waiting: int = Field(description="Orders that wait.")
    what_if: bool = Field(description="Whether it supposes what is not so.")
    set_aside_at: datetime | None
    undone_at: datetime | None

    @classmethod
    def of(cls, plan: MadePlan) -> Self:
        """Tell of a plan; who made it must be loaded."""
        return cls.model_validate(_plan(plan))


def _plan(plan: MadePlan) -> dict[str, object]:
    return {
        "plan": plan.pk,
        "made_at": plan.made_at,
        "made_by": plan.made_by.full_name if plan.made_by else "",
        "ready": plan.ready,
        "waiting": plan.waiting,
        "what_if": plan.what_if,
        "set_aside_at": plan.set_aside_at,
        "undone_at": plan.undone_at,
    }


class Plans(BaseModel):
    """A part of the list of plans, the newest first."""

    plans: list[PlanTold]
    next: int | None = Field(description="Give it as `before` for the following part.")


class PlanWhole(PlanTold):
    """A plan with its answer."""

    answer: dict[str, Any] = Field(description="The document of `combwright plan --json`.")

    @classmethod
    def whole(cls, plan: MadePlan) -> Self:
        """Tell of a plan, all of it."""
        return cls.model_validate(_plan(plan) | {"answer": plan.answer})


class Instruments(BaseModel):
    """A part of the list of instruments, in the order of their making."""

    instruments: list[InstrumentTold]
    next: int | None = Field(description="Give it as `after` for the following part.")


class FittedTold(BaseModel):
    """A plate in an instrument, from when to when."""

    hole: int
    deck: Literal["upper", "lower"]
    breath: Literal["blow", "draw"]
    pitch: str
    wanted_cents: float = Field(description="The goal's offset from the note.")
    batch: str
    bin: str = Field(description="Where it came from.")
    put_in_at: datetime
    taken_out_at: datetime | None
    taken_out_because: str

    @classmethod
    def of(cls, fitted: Fitted) -> Self:
        """Tell of a plate; its batch and where it came from must be loaded."""
        return cls.model_validate(
            {
                "hole": fitted.hole,
                "deck": fitted.deck,
                "breath": fitted.breath,
                "pitch": note_name(fitted.midi),
                "wanted_cents": (fitted.wanted_mc - fitted.midi * 100 * _PER_CENT) / _PER_CENT,
                "batch": fitted.batch.code,
                "bin": fitted.taken.bin.code,
                "put_in_at": fitted.put_in_at,
                "taken_out_at": fitted.taken_out_at,
                "taken_out_because": fitted.taken_out_because,
            }
        )


class InstrumentWhole(InstrumentTold):
    """An instrument with every plate that it holds or held."""

    plates: list[FittedTold]

    @classmethod
    def whole(cls, made: Instrument, fitted: Sequence[Fitted]) -> Self:
        """Tell of an instrument with its plates."""
        plates = [FittedTold.of(each) for each in fitted]
        return cls.model_validate(_instrument(made) | {"plates": plates})
