"""What the rack's tests begin with: people, and a bin or two."""

from decimal import Decimal

from combwright.shop.people.models import Person
from combwright.shop.rack.actions import NewBin, make_bin, receive


def somebody(role="owner", name=None):
    name = name or role
    known = Person.objects.filter(name=name).first()
    return known or Person.objects.join(name, name.title(), role, "a long enough password")


def new(code="A-01-1", *, midi=60, slot_um=16_800, **more):
    return NewBin(code=code, midi=midi, slot_um=slot_um, mount="front", walk=code, **more)


def a_bin(code="A-01-1", plates=0, *, batch="b1", **more):
    made = make_bin(new(code, cost=Decimal("2.20"), **more), batch)
    if plates:
        receive(somebody(), made, plates)
        made.refresh_from_db()
    return made
