"""Shops to back up: people, bins, a ledger, and values that are easily spoilt on the way."""

from datetime import UTC, datetime
from decimal import Decimal
from random import Random

from combwright.shop.people.models import Person
from combwright.shop.rack import actions
from combwright.shop.rack.models import Bin, Entry, Upload
from shop.rack.shelves import a_bin, somebody

#: What a value may be spoilt by: other letters, ends of lines, what looks like something else.
TEXTS = ["", "plain", "Grüße, ½ ♯♭ 漢字 🎵", 'quote " and \\ back', "two\nlines\r\n", "null", " a "]
LATE = datetime(2031, 12, 31, 23, 59, 59, 999_999, tzinfo=UTC)


def a_shop(seed=0, turns=12):
    """Make a shop by what people do in it; the same seed makes the same one."""
    dice = Random(seed)
    owner = somebody()
    for n in range(0 if Bin.objects.exists() else 3):
        a_bin(f"A-{n}", 5 + n, midi=60, millicents=-1500 + n)
    for _ in range(turns):
        one_turn(dice, owner)
    Bin.objects.filter(code="A-1").update(cost=Decimal("1234567.89"), counted_at=LATE)
    Upload.objects.create(
        made_by=owner, name="räck.csv", data=bytes(range(256)), sha256="0" * 64,
        earlier={"1": {"slot_um": [1, 2.5], "walk": TEXTS[2]}, "b": [None, True, -0.0, 1e22]},
    )  # fmt: skip
    return owner


def one_turn(dice, person):
    bins = list(Bin.objects.order_by("code"))
    here, there = dice.sample(bins, 2)
    note = dice.choice(TEXTS)
    try:
        what = dice.randrange(5)
        if what == 0:
            actions.receive(person, here, dice.randint(1, 9), note=note)
        elif what == 1:
            actions.move(person, here, there, 2, note=note)
        elif what == 2:
            actions.scrap(person, here, 1, note=note)
        elif what == 3:
            actions.count(person, here, dice.randint(0, 9), note=note)
        else:
            entry = dice.choice(list(Entry.objects.order_by("pk")))
            actions.take_back(person, entry, note=note)
    except actions.NotSo:
        pass


def plates():
    """What lies in each bin."""
    return dict(Bin.objects.order_by("code").values_list("code", "count"))


def logins():
    return list(Person.objects.order_by("pk").values_list("name", "password", "role"))
