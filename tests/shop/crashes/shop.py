"""A shop whose workers are killed: `python shop.py WHAT KILLS`; prints a line of JSON each time.

The worker is a fork of this process, which keeps no connection to the database itself: so it is
a process of its own, and is there at once. What the database holds is looked at in another fork.
"""

import json
import os
import signal
import sys
import time
from random import Random

PLATES, BINS, ROWS = 50, 8, 200
HEADER = "bin,pitch,cents,slot_mm,mount,batch,count,cost,cut,walk,held"


def code(n):
    return f"A-{n:03}"


def begin():
    """Make the shop's tables, a person, and bins."""
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from combwright.shop.people.models import Person
    from combwright.shop.rack import actions
    from combwright.shop.rack.models import Bin, Entry

    owner = Person.objects.join("owner", "Owner", "owner", None)
    for n in range(BINS):
        actions.make_bin(actions.NewBin(code(n), 60, 16_800, "front", walk=code(n)), "b1")
    keys = Bin.objects.values_list("pk", flat=True)
    actions.post(owner, Entry.RECEIVED, dict.fromkeys(keys, PLATES))


def rack_file(turn):
    """Return a rack whose old bins have other counts each time, and whose other bins are new."""
    count = PLATES + turn % 997
    rows = [f"{code(n)},C4,0,16.8,front,b1,{count},2.20,,{code(n)},no" for n in range(BINS)]
    rows += [f"N-{turn}-{n},D4,0,15,rear,new-{turn},{n % 5},1.50,,,no" for n in range(ROWS)]
    return "\n".join([HEADER, *rows]).encode()


def book_import(owner, dice):
    from combwright.shop.rack import import_actions
    from combwright.shop.rack.imports import compare

    upload = import_actions.keep(owner, "rack.csv", rack_file(dice.randrange(10**9)))
    contents = import_actions.contents_of(upload)
    seen = compare(contents, import_actions.rack_by_code()).fingerprint
    import_actions.book(owner, upload, seen)


def move_plates(owner, dice):
    from combwright.shop.rack import actions
    from combwright.shop.rack.models import Bin

    bins = Bin.objects.filter(code__startswith="A-").order_by("code")
    here, there = dice.sample(list(bins), 2)
    actions.move(owner, here, there, dice.randint(1, min(9, here.count) or 1))


DOES = {"import": book_import, "move": move_plates}


def work(what, seed, times=None):
    """Do it again and again, until killed; or so many times. Return how long one took."""
    from combwright.shop.people.models import Person
    from combwright.shop.rack.actions import NotEnough

    owner, dice = Person.objects.get(name="owner"), Random(seed)
    done = 0
    start = time.monotonic()
    while times is None or done < times:
        try:
            DOES[what](owner, dice)
        except NotEnough:
            continue
        done += 1
    return (time.monotonic() - start) / done


def look():
    """Return what the database holds, as the tests check it."""
    from django.db.models import Count, F, Max, Sum

    from combwright.shop.rack.models import Batch, Bin, Entry, Line, Upload
    from combwright.shop.rack.queries import ledger_faults

    entries = Entry.objects.annotate(n=Count("lines"), s=Sum("lines__change")).order_by("id")
    last = Bin.objects.annotate(newest=Max("lines")).values("newest")
    old = Bin.objects.filter(code__startswith="A-")
    return {
        "faults": [fault.bin for fault in ledger_faults()],
        "entries": list(entries.values_list("why", "n", "s")),
        "unlike": Line.objects.filter(pk__in=last).exclude(after=F("bin__count")).count(),
        "plates": old.aggregate(s=Sum("count"))["s"],
        "new": Bin.objects.exclude(code__startswith="A-").count(),
        "bare": Bin.objects.filter(lines=None).count() + Batch.objects.filter(bins=None).count(),
        "booked": Upload.objects.exclude(entry=None).count(),
    }


def fork(act):
    """Run something in a fork; return its number, and the end of a pipe that it answers through."""
    read, write = os.pipe()
    child = os.fork()
    if child:
        os.close(write)
        return child, read
    os.close(read)
    status = 1
    try:
        with os.fdopen(write, "w") as answer:
            answer.write(json.dumps(act()))
        status = 0
    finally:
        os._exit(status)


def asked(act):
    child, read = fork(act)
    with os.fdopen(read) as answer:
        said = answer.read()
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    return json.loads(said)


def killed(what, seed, seconds):
    """Let a fork work for so long and kill it; return how it ended."""
    child, read = fork(lambda: work(what, seed))
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    os.close(read)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def main(what, kills):
    import django

    django.setup()
    asked(begin)
    pace = asked(lambda: work(what, "pace", 4))
    began = time.monotonic()
    asked(lambda: work(what, "start", 1))
    # The first entry of a fork waits for its connection: from nothing done to some done.
    longest = time.monotonic() - began + 3 * pace
    dice = Random(what)
    before = len(asked(look)["entries"])
    for turn in range(kills):
        ended, seen = killed(what, turn, dice.uniform(0, longest)), asked(look)
        tell({"ended": ended, **seen})
        if len(seen["entries"]) == before:
            longest *= 1.5  # others have made the machine slower since: nobody got anywhere yet
    tell({"ended": "half", **asked(half)})


def tell(facts):
    sys.stdout.write(json.dumps(facts) + "\n")
    sys.stdout.flush()


def half():
    """Leave out a line behind everybody's back: the tests must see that."""
    from combwright.shop.rack.models import Line

    Line.objects.order_by("id").last().delete()
    return look()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
