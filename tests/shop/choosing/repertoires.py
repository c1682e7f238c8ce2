"""Small repertoires, and answers about them that need not be worked out."""

from datetime import timedelta

from django.utils import timezone

from combwright.shop.choosing import actions
from combwright.shop.choosing.models import Answer
from combwright.shop.jobs.actions import take_up
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.registry import kinds
from combwright.shop.jobs.run import Run
from combwright.shop.jobs.worker import Worker
from combwright.shop.orders import actions as orders
from combwright.shop.orders.models import Customer
from combwright.shop.people.models import Person
from combwright.shop.register.models import Instrument
from combwright.shop.repertoire.models import Melody, Repertoire
from combwright.tunes.keeping import to_plain
from combwright.tunes.tune import WHOLE, Tune, TuneNote

QUAVER = WHOLE // 8
#: Three octaves from the lowest reed: the low A is bent on a standard layout, blown on another.
LONG = (60, 64, 67, 69, 72, 84, 96, 84, 72, 69, 67)
#: Natural notes of a standard layout alone.
CHORD = (60, 64, 67, 72, 67, 64, 60)


def somebody(role="owner", name=None):
    """Return a person who has no password, which would take its time."""
    name = name or role
    known = Person.objects.filter(name=name).first()
    return known or Person.objects.join(name, name.title(), role, None)


def a_tune(title, pitches):
    notes = (TuneNote(midi, n * QUAVER, QUAVER) for n, midi in enumerate(pitches))
    return Tune(title, tuple(notes), "made.abc")


def a_repertoire(name="Reels", *, customer=None, tunes=(("Ladder", LONG), ("Chord", CHORD))):
    made = Repertoire.objects.create(name=name, customer=customer, made_by=somebody())
    for place, (title, pitches) in enumerate(tunes, start=1):
        tune = a_tune(title, pitches)
        Melody.objects.create(
            repertoire=made, place=place, title=title, source=tune.source, notes=len(pitches),
            music=to_plain(tune),
        )  # fmt: skip
    return made


def a_customer(name="Ida Morrow"):
    return Customer.objects.create(name=name)


def an_instrument(who, serial="00007", **wish):
    """Write down an instrument as if it had been built."""
    order = orders.make_order(somebody(), {"customer": who}, [{"layout": "standard", **wish}])
    return Instrument.objects.create(
        serial=serial, order=order, wish=order.wishes.get(), copy=1, title="Standard in C",
        made_by=somebody(), finished_at=timezone.now(),
    )  # fmt: skip


def a_row(layout="standard", title="Standard", natural=1, **more):
    row = {
        "layout": layout, "title": title, "key": "", "changes": "", "serial": "", "cost": 3.5,
        "natural": natural, "with_bends": max(natural, 1), "with_overbends": 2, "notes": 18,
        "bends_per_100": 5.5556, "bends": 1, "overbends": 0, "missing": 0,
        "worst": [{"title": "Ladder", "source": "made.abc", "shift": 0, "cost": 2.0, "bends": 1,
                   "overbends": 0, "missing": 0}],
    }  # fmt: skip
    return {**row, **more}


ROWS = (
    a_row("third-blow-raised", "Third blow raised", 2),
    a_row(),
    a_row("standard", "Standard", key="A", changes="3 blow=F#4", serial="00007"),
)


def a_match(repertoire, rows=ROWS, *, asked=None, best="best: Third blow raised"):
    """Make an answer as if it had been worked out."""
    return Answer.objects.create(
        repertoire=repertoire, kind=Answer.MATCH, version=repertoire.version, made_by=somebody(),
        asked=asked or {"layouts": [], "own": [], "keys": [], "player": "intermediate"},
        said={"schema": 1, "tunes": 2, "notes": 18, "layouts": list(rows)}, best=best,
    )  # fmt: skip


def ask(repertoire, kind=Answer.MATCH, person=None, **asked):
    usual = {"layouts": ["standard", "third-blow-raised"], "own": [], "keys": [],
             "player": "intermediate"}  # fmt: skip
    return actions.ask(person or somebody(), repertoire, kind, usual | asked)


def swaps_asked(**more):
    usual = {"layout": "standard", "serial": "", "key": "C", "most": 1, "by": 2, "rack": False,
             "kit": "", "comb": "", "player": "intermediate"}  # fmt: skip
    return usual | more


def ask_swaps(repertoire, person=None, **asked):
    return actions.ask(person or somebody(), repertoire, Answer.SWAPS, swaps_asked(**asked))


def work_off():
    """Do the work of all jobs that wait, as a worker does; return the newest job."""
    Worker().work_off()
    return Job.objects.first()


def work_out():
    """Do what work there is within a test's transaction, where no beat could be written."""
    while (job := take_up("a test", timedelta(seconds=30), kinds())) is not None:
        kinds()[job.kind].done_for(Run(job), job.arguments)
    return Job.objects.first()
