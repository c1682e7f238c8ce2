"""What is read about answers; each is a fixed number of queries."""

from typing import Final

from django.db.models import QuerySet

from combwright.shop.choosing.models import Answer, MadeWish
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State

#: The fields that hold pictures: they are long, and fetched by themselves.
PICTURES: Final = ("picture", "picture_narrow")
_MOST_DRAFTS: Final = 50


def answers_of(repertoire: int, kind: str) -> QuerySet[Answer]:
    """Return the answers of one kind about a repertoire, the newest first, without their tables."""
    found = Answer.objects.filter(repertoire=repertoire, kind=kind).defer(
        "said", "asked", *PICTURES
    )
    return found.select_related("job", "made_by").order_by("-pk")


def answer_shown(key: int) -> Answer | None:
    """Return an answer with its repertoire, its customer, and its job."""
    found = Answer.objects.select_related("repertoire__customer", "job", "made_by")
    return found.filter(pk=key).defer(*PICTURES).first()


def picture_of(key: int, *, narrow: bool) -> str:
    """Return the picture of an answer; empty where there is none."""
    found = Answer.objects.filter(pk=key).values_list(PICTURES[narrow], flat=True)
    return found.first() or ""


def has_picture(answer: Answer) -> bool:
    """Say whether there is a picture of an answer."""
    return Answer.objects.filter(pk=answer.pk).exclude(picture="").exists()


def wishes_of(answer: Answer) -> dict[int, list[MadeWish]]:
    """Return the wishes that were made of an answer, by its rows."""
    made: dict[int, list[MadeWish]] = {}
    for each in answer.wishes.select_related("wish__order"):
        made.setdefault(each.row, []).append(each)
    return made


def drafts_for(answer: Answer) -> QuerySet[Order]:
    """Return the draft orders that a wish may be put into: the customer's, if there is one."""
    drafts = Order.objects.filter(state=State.DRAFT).select_related("customer").order_by("-pk")
    who = answer.repertoire.customer_id
    return (drafts if who is None else drafts.filter(customer=who))[:_MOST_DRAFTS]
