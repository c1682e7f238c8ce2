import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combwright.shop.rack import actions
from combwright.shop.rack.models import Batch, Bin, Entry, Line
from combwright.shop.rack.queries import ledger_faults
from shop.rack.shelves import a_bin, new, somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def test_received_plates_are_in_the_bin_and_in_the_ledger():
    plates = a_bin()
    entry = actions.receive(somebody(), plates, 7, note="from the post")
    plates.refresh_from_db()
    (line,) = entry.lines.all()
    assert (plates.count, line.change, line.after) == (7, 7, 7)
    assert (entry.why, entry.note, entry.made_by) == (Entry.RECEIVED, "from the post", somebody())


def test_no_more_is_scrapped_than_is_there():
    plates = a_bin(plates=3)
    with pytest.raises(actions.NotEnough, match="holds 3 plates; 4 cannot be taken"):
        actions.scrap(somebody(), plates, 4, note="bent")
    plates.refresh_from_db()
    assert plates.count == 3
    assert plates.lines.count() == 1


def test_a_move_takes_from_one_bin_what_it_gives_to_the_other():
    source, target = a_bin("A-1", 5), a_bin("A-2", 1)
    actions.move(somebody(), source, target, 2)
    source.refresh_from_db()
    target.refresh_from_db()
    assert (source.count, target.count) == (3, 3)


def test_plates_do_not_move_to_other_plates_bin():
    source = a_bin("A-1", 5)
    with pytest.raises(actions.NotSo, match="holds other plates"):
        actions.move(somebody(), source, a_bin("A-2", midi=61), 1)
    with pytest.raises(actions.NotSo, match="holds other plates"):
        actions.move(somebody(), source, a_bin("A-3", batch="b2"), 1)
    with pytest.raises(actions.NotSo, match="both are A-1"):
        actions.move(somebody(), source, source, 1)


def test_a_count_books_the_difference_and_is_written_even_when_it_agrees():
    plates = a_bin(plates=5)
    assert actions.count(somebody(), plates, 3).lines.get().change == -2
    assert actions.count(somebody(), plates, 3).lines.get().change == 0
    plates.refresh_from_db()
    assert plates.count == 3
    assert plates.counted_at is not None


def test_an_entry_taken_back_stays_and_its_opposite_is_written():
    plates = a_bin(plates=5)
    scrapped = actions.scrap(somebody(), plates, 2, note="bent")
    undone = actions.take_back(somebody(), scrapped, note="they were fine")
    plates.refresh_from_db()
    assert plates.count == 5
    assert undone.corrects == scrapped
    assert Entry.objects.filter(pk=scrapped.pk).exists()
    with pytest.raises(actions.NotSo, match="taken back before"):
        actions.take_back(somebody(), scrapped, note="again")


def test_what_is_no_longer_there_cannot_be_taken_back():
    plates = a_bin()
    received = actions.receive(somebody(), plates, 4)
    actions.scrap(somebody(), plates, 3, note="bent")
    with pytest.raises(actions.NotEnough):
        actions.take_back(somebody(), received, note="wrong bin")


def test_a_sliced_set_fills_bins_and_counts_its_losses():
    a_bin("A-1", 2)
    slices = [actions.Slice(new("A-1"), 3), actions.Slice(new("A-2", midi=62), 2)]
    entry = actions.slice_set(somebody(), "b1", slices, note="3 sets in C")
    assert {line.bin.code: line.after for line in entry.lines.all()} == {"A-1": 5, "A-2": 2}


def test_a_set_that_names_a_bin_of_other_plates_changes_nothing():
    a_bin("A-2", 1, midi=70)
    slices = [actions.Slice(new("A-1"), 3), actions.Slice(new("A-2", midi=62), 2)]
    with pytest.raises(actions.NotSo, match="A-2 holds A#4 of batch b1"):
        actions.slice_set(somebody(), "b1", slices)
    assert not Bin.objects.filter(code="A-1").exists()


def test_a_held_batch_is_held_in_the_planners_stock():
    plates = a_bin(plates=2)
    assert not plates.as_stock().held
    actions.hold(plates.batch, "rusty")
    assert Bin.objects.select_related("batch").get().as_stock().held
    actions.release(plates.batch)
    assert not Bin.objects.select_related("batch").get().as_stock().held
    with pytest.raises(actions.NotSo, match="Say why"):
        actions.hold(Batch.objects.get(), "  ")


def test_the_proof_finds_a_bin_that_was_changed_behind_the_ledger():
    plates = a_bin(plates=2)
    assert list(ledger_faults()) == []
    Bin.objects.filter(pk=plates.pk).update(count=9)
    (fault,) = ledger_faults()
    assert (fault.bin, fault.holds, fault.ledger) == (plates.code, 9, 2)


steps = st.lists(
    st.tuples(
        st.sampled_from(["receive", "scrap", "count", "move", "put back", "take back"]),
        st.integers(0, 2),
        st.integers(0, 2),
        st.integers(-1, 9),
    ),
    max_size=25,
)


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(steps=steps)
def test_whatever_is_done_bins_are_the_sum_of_their_ledger_and_never_negative(steps):
    Line.objects.all().delete()
    Entry.objects.update(corrects=None)
    Entry.objects.all().delete()
    Bin.objects.all().delete()
    person, bins = somebody(), [a_bin(f"A-{n}") for n in range(3)]
    model = [0, 0, 0]
    for what, here, there, number in steps:
        before = list(model)
        try:
            _do(what, person, bins, here, there, number, model)
        except actions.NotSo:
            model[:] = before
        for plates in bins:
            plates.refresh_from_db()
        assert [plates.count for plates in bins] == model
        assert list(ledger_faults()) == []


def _do(what, person, bins, here, there, number, model):
    if what == "receive":
        actions.receive(person, bins[here], number)
        model[here] += number
    elif what == "put back":
        actions.put_back(person, bins[here], number, note="x")
        model[here] += number
    elif what == "scrap":
        actions.scrap(person, bins[here], number, note="x")
        model[here] -= number
    elif what == "count":
        actions.count(person, bins[here], number)
        model[here] = number
    elif what == "move":
        actions.move(person, bins[here], bins[there], number)
        model[here] -= number
        model[there] += number
    elif last := Entry.objects.order_by("-id").first():
        changes = {line.bin_id: line.change for line in last.lines.all()}
        actions.take_back(person, last, note="x")
        for place, plates in enumerate(bins):
            model[place] -= changes.get(plates.pk, 0)
