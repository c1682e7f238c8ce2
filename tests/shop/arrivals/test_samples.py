from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connections
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combwright.inspection.plans import draw
from combwright.shop.arrivals import actions, queries
from combwright.shop.arrivals.models import Inspection, Reading
from combwright.shop.rack import actions as rack
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Batch, Bin, Change
from shop.arrivals.samples import a_batch, a_sample, chosen, measure, unmeasured
from shop.rack.shelves import a_bin, somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def test_a_sample_is_drawn_from_the_bins_by_its_seed_and_kept():
    batch = a_batch(4, 0, 10, 6)
    made = a_sample(batch, seed=77)
    expected = draw([4, 10, 6], 6, 77)
    kept = {d.bin.code: tuple(d.which) for d in made.draws.select_related("bin")}
    bins = ("b1-1", "b1-3", "b1-4")
    assert kept == {code: which for code, which in zip(bins, expected, strict=True) if which}
    assert sum(d.plates for d in made.draws.all()) == 6
    assert made.seed == 77


def test_the_bins_of_a_sample_lie_along_the_walk():
    for n in (10, 9, 2):
        a_bin(f"A-{n}", 5)
    made = a_sample(Batch.objects.get(), lot=15, sample=15, accept=0)
    assert [d.bin.code for d in made.draws.select_related("bin")] == ["A-2", "A-9", "A-10"]


def test_more_plates_than_lie_there_are_not_drawn():
    batch = a_batch(3, 2)
    with pytest.raises(NotSo, match="sample is 6 plates, but the bins hold 5"):
        a_sample(batch)
    assert not Inspection.objects.exists()


def test_a_batch_has_one_open_sample():
    batch = a_batch(20)
    first = a_sample(batch)
    with pytest.raises(NotSo, match="A sample of batch b1 is being measured"):
        a_sample(batch)
    actions.give_up(first, somebody("maker"))
    assert a_sample(batch).open


def test_a_good_sample_accepts_as_soon_as_it_is_certain():
    made = a_sample(a_batch(20))
    assert measure(made, 1, -2, 0, 9).open
    done = measure(made, 10)
    assert done.state == Inspection.ACCEPTED
    assert done.readings.count() == 5
    assert done.decided_by == somebody("maker")
    assert not Batch.objects.get().held


def test_a_bad_sample_holds_the_batch_in_the_same_moment():
    made = a_sample(a_batch(20))
    assert measure(made, 11).open
    done = measure(made, None)
    assert done.state == Inspection.REFUSED
    batch = Batch.objects.get()
    assert batch.held
    assert batch.held_because == f"sample {done.pk}: 2 bad of 2 measured, 1 allowed"


def test_if_the_batch_cannot_be_held_no_reading_is_written(monkeypatch):
    made = a_sample(a_batch(20), accept=0)

    def broken(*_args):
        raise RuntimeError("as if the power went")

    monkeypatch.setattr(rack, "hold", broken)
    with pytest.raises(RuntimeError):
        measure(made, None)
    made.refresh_from_db()
    assert made.open
    assert not Reading.objects.exists()


def test_a_batch_held_before_keeps_its_reason():
    batch = a_batch(20)
    rack.hold(batch, "rust on the rivets")
    measure(a_sample(batch, accept=0), None)
    assert Batch.objects.get().held_because.startswith("rust on the rivets; sample ")


def test_a_closed_sample_takes_no_readings():
    made = measure(a_sample(a_batch(20), accept=0), None)
    with pytest.raises(actions.Decided, match="closed: refused"):
        measure(made, 0)
    with pytest.raises(actions.Decided):
        actions.strike(made.readings.get(), somebody("maker"))


@pytest.mark.parametrize(
    ("cents", "broken", "why"),
    [
        (None, False, "Give the cents of the plate, or say that it is broken"),
        (3, True, "Give the cents of the plate, or say that it is broken"),
        (601, False, "601 cents off C4 cannot be; give -600 to 600"),
        (float("nan"), False, "cannot be"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(cents, broken, why):
    made = a_sample(a_batch(20))
    plates = next(unmeasured(made))
    with pytest.raises(NotSo, match=why):
        actions.add_reading(made, plates, somebody("maker"), cents=cents, broken=broken)
    assert not Reading.objects.exists()


def test_each_bin_gives_as_many_plates_as_were_drawn():
    made = a_sample(a_batch(10, 10), accept=5)
    first = made.draws.first()
    for _ in range(first.plates):
        if made.open:
            actions.add_reading(made, first.bin, somebody("maker"), cents=99)
    with pytest.raises(NotSo, match=f"All {first.plates} plates that the sample takes of bin b1-1"):
        actions.add_reading(made, first.bin, somebody("maker"), cents=1)
    with pytest.raises(NotSo, match="takes no plates of bin X-1"):
        actions.add_reading(made, a_bin("X-1", 5), somebody("maker"), cents=1)


def test_a_struck_reading_no_longer_counts_and_is_still_there():
    made = a_sample(a_batch(20))
    measure(made, 500)
    actions.strike(made.readings.get(), somebody("maker"))
    far = queries.progress(made)
    assert (far.measured, far.bad) == (0, 0)
    assert made.readings.get().struck_by == somebody("maker")
    assert measure(made, 1, 1, 1, 1, 1).state == Inspection.ACCEPTED


def test_a_plate_is_judged_by_its_bins_offset_of_the_time_of_drawing():
    batch = a_batch(20)
    Bin.objects.update(millicents=-12_000)
    made = a_sample(batch)
    Bin.objects.update(millicents=0)
    measure(made, -22, -2, -22.001)
    assert [r.bad for r in made.readings.order_by("pk")] == [False, False, True]


def test_means_are_taken_over_traceably():
    batch = a_batch(20)
    Bin.objects.update(millicents=1_000)
    made = measure(a_sample(batch, sample=5, accept=1), 3, 4, 6, None)
    keys = [Bin.objects.get().pk]
    with pytest.raises(NotSo, match="Measure the sample to its end first"):
        actions.take_offsets(made, keys, somebody("maker"))
    made = measure(made, 5)
    assert made.state == Inspection.ACCEPTED
    assert actions.take_offsets(made, keys, somebody("maker")) == 1
    assert Bin.objects.get().millicents == 4_500
    drawn = made.draws.get()
    assert (drawn.before, drawn.after) == (1_000, 4_500)
    change = Change.objects.get()
    assert change.facts == {"millicents": [1_000, 4_500]}
    assert change.note == f"mean of 4 plates, sample {made.pk}"
    with pytest.raises(NotSo, match="none that has one is ticked"):
        actions.take_offsets(made, keys, somebody("maker"))


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.sampled_from([0, 99, None]), min_size=8, max_size=8), st.integers(0, 4))
def test_whatever_is_read_the_state_is_what_the_whole_sample_says(plates, accept):
    batch = Batch.objects.filter(code="b1").first() or a_batch(8)
    rack.release(batch)
    made = measure_until_closed(a_sample(batch, lot=8, sample=8, accept=accept), plates)
    bad = sum(each != 0 for each in plates)
    assert made.state == (Inspection.REFUSED if bad > accept else Inspection.ACCEPTED)
    assert Batch.objects.get().held == (bad > accept)


def measure_until_closed(made, plates):
    for each in plates:
        if made.open:
            made = measure(made, each)
    return made


@pytest.mark.django_db(transaction=True)
def test_two_who_read_at_once_decide_once():
    made = a_sample(a_batch(20), accept=1)
    measure(made, 99)
    bins, person, gate = list(unmeasured(made)), somebody("maker"), Barrier(3)

    def one(plate_bin):
        try:
            gate.wait()
            return actions.add_reading(made, plate_bin, person, broken=True)
        except actions.Decided as error:
            return error
        finally:
            connections.close_all()

    with ThreadPoolExecutor(3) as pool:
        said = list(pool.map(one, bins[:3]))
    assert sum(isinstance(each, Reading) for each in said) == 1
    made.refresh_from_db()
    assert made.state == Inspection.REFUSED
    assert made.readings.count() == 2


def test_the_plan_is_kept_as_it_was_chosen():
    made = actions.start(somebody("maker"), a_batch(20), chosen(20, 6, 1), note="from the post")
    assert (made.plan.lot, made.plan.sample, made.plan.accept) == (20, 6, 1)
    assert (made.good_percent, made.bad_percent, made.note) == (2, 15, "from the post")
