import pytest

from combwright.shop.counting import actions, queries
from combwright.shop.counting.models import Ask, LastCount
from combwright.shop.counting.queries import Scope
from combwright.shop.rack import actions as rack
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Bin, Entry, Line
from combwright.shop.rack.queries import ledger_faults
from shop.counting.rounds import a_rack, a_round, counted
from shop.rack.shelves import a_bin, somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def held():
    return list(Bin.objects.order_by("pk").values_list("count", flat=True))


def test_a_round_is_booked_as_one_entry_with_a_line_for_each_counted_bin():
    a_rack(5, 3, 8)
    round_ = a_round()
    counted(round_, 1, 5)
    counted(round_, 2, 1)
    entry = actions.book(somebody("office"), round_)
    assert entry.why == Entry.COUNTED
    assert sorted(entry.lines.values_list("bin__code", "change")) == [("A-1", 0), ("A-2", -2)]
    assert held() == [5, 1, 8]
    times = Bin.objects.order_by("pk").values_list("counted_at", flat=True)
    asks = round_.asks.values_list("counted_at", flat=True)
    assert list(times) == list(asks)
    assert list(ledger_faults()) == []


def test_a_round_is_booked_once():
    a_rack(5)
    round_ = a_round()
    counted(round_, 1, 4)
    entry = actions.book(somebody(), round_)
    with pytest.raises(actions.RoundClosed, match=f"booked before, as entry {entry.pk}"):
        actions.book(somebody(), round_)
    with pytest.raises(actions.RoundClosed):
        actions.give_up(somebody(), round_)
    with pytest.raises(actions.RoundClosed):
        counted(round_, 1, 5)
    assert held() == [4]


def test_a_round_without_a_count_books_nothing():
    a_rack(5)
    with pytest.raises(NotSo, match="No bin of this round is counted yet"):
        actions.book(somebody(), a_round())
    assert not Entry.objects.filter(why=Entry.COUNTED).exists()


def test_a_move_between_count_and_booking_stays_where_it_went():
    source, target = a_rack(7, 2)
    round_ = a_round()
    counted(round_, 1, 6)
    rack.move(somebody(), source, target, 3)
    counted(round_, 2, 5)
    actions.book(somebody(), round_)
    assert held() == [3, 5]


def test_a_bin_that_would_hold_less_than_nothing_is_named_and_nothing_is_booked():
    _first, second = a_rack(5, 5)
    round_ = a_round()
    counted(round_, 1, 4)
    counted(round_, 2, 1)
    rack.scrap(somebody(), second, 3, note="bent")
    with pytest.raises(NotSo, match="Bin A-2 holds 2 by now, and the count found 4 fewer"):
        actions.book(somebody(), round_)
    assert held() == [5, 2]
    assert not Entry.objects.filter(why=Entry.COUNTED).exists()
    assert round_.asks.get(place=1).found == 4


@pytest.mark.parametrize("how", ["counted", "corrected"])
def test_a_bin_set_right_since_is_not_set_right_twice(how):
    (plates,) = a_rack(5)
    scrapped = rack.scrap(somebody(), plates, 2, note="bent")
    round_ = a_round()
    counted(round_, 1, 5)
    if how == "counted":
        rack.count(somebody(), plates, 5)
    else:
        rack.take_back(somebody(), scrapped, note="it was not bent")
    with pytest.raises(NotSo, match="A-1 was counted, imported or corrected again"):
        actions.book(somebody(), round_)
    assert held() == [5]
    actions.ask_again(round_, [round_.asks.get().pk])
    counted(round_, 1, 5)
    actions.book(somebody(), round_)
    assert held() == [5]


def test_a_single_count_that_agreed_does_not_stand_in_the_way():
    (plates,) = a_rack(5)
    round_ = a_round()
    counted(round_, 1, 4)
    rack.count(somebody(), plates, 5)
    actions.book(somebody(), round_)
    assert held() == [4]


def test_plates_booked_while_somebody_counts_are_told():
    (plates,) = a_rack(5)
    round_ = a_round()
    before = queries.newest_line(plates.pk)
    rack.scrap(somebody(), plates, 1, note="bent")
    with pytest.raises(actions.MovedMeanwhile, match="A-1 were booked while you counted") as told:
        counted(round_, 1, 5, line_seen=before)
    assert [line.change for line in told.value.lines] == [-1]
    assert round_.asks.get().found is None
    counted(round_, 1, 4, line_seen=before, sure=True)
    assert round_.asks.get().difference == 0


def test_the_second_of_two_who_count_a_bin_is_told_and_may_keep_either():
    a_rack(5)
    round_ = a_round()
    fresh = round_.asks.get().state
    counted(round_, 1, 4, person=somebody("maker"))
    with pytest.raises(actions.CountedMeanwhile, match=r"Maker counted bin A-1 .* found 4"):
        counted(round_, 1, 5, person=somebody("packer"), seen=fresh)
    assert round_.asks.get().found == 4
    counted(round_, 1, 5, person=somebody("packer"), seen=fresh, sure=True)
    ask = round_.asks.get()
    assert (ask.found, ask.recounts) == (5, 1)
    assert [(each["found"], each["by"]) for each in ask.earlier] == [(4, "Maker")]


def test_two_who_find_the_same_agree_without_a_word():
    a_rack(5)
    round_ = a_round()
    fresh = round_.asks.get().state
    counted(round_, 1, 4, person=somebody("maker"))
    assert counted(round_, 1, 4, person=somebody("packer"), seen=fresh).counted_by.name == "maker"
    assert round_.asks.get().recounts == 0


def test_a_bin_to_be_counted_again_keeps_what_was_counted_before():
    a_rack(5, 6)
    round_ = a_round()
    counted(round_, 1, 4)
    assert actions.ask_again(round_, [a.pk for a in round_.asks.all()]) == 1
    ask = round_.asks.get(place=1)
    assert (ask.found, ask.held_then, ask.recounts, ask.earlier[0]["found"]) == (None, None, 1, 4)
    with pytest.raises(NotSo, match="none that was counted is ticked"):
        actions.ask_again(round_, [ask.pk])


def test_next_goes_along_the_walk_round_to_the_start_and_leaves_skipped_bins_for_later():
    a_rack(1, 1, 1)
    round_ = a_round()
    assert queries.next_ask(round_, after=1).place == 2
    counted(round_, 3, 1)
    assert queries.next_ask(round_, after=2).place == 1
    actions.skip(round_.asks.get(place=1))
    assert queries.next_ask(round_, after=2).place == 2
    counted(round_, 2, 1)
    assert queries.next_ask(round_) is None
    assert actions.unskip(round_) == 1
    assert queries.next_ask(round_).place == 1


def test_a_counted_bin_is_not_skipped():
    a_rack(1)
    round_ = a_round()
    counted(round_, 1, 1)
    actions.skip(round_.asks.get())
    assert not round_.asks.get().skipped


def test_a_bin_is_asked_for_in_one_open_round_only():
    a_rack(1, 1, 1)
    first = a_round(2)
    second = a_round(5)
    assert [a.bin.code for a in second.asks.all()] == ["A-3"]
    actions.give_up(somebody(), first)
    assert a_round(5).asks.count() == 2
    with pytest.raises(NotSo, match="no bin to count"):
        a_round(5)


def test_only_a_place_a_batch_or_a_note_is_asked_for():
    a_bin("A-1", 1, midi=60)
    a_bin("B-1", 1, midi=62)
    a_bin("B-2", 1, midi=60, batch="b2")
    for scope, found in [
        ({"place": "b-"}, ["B-1", "B-2"]), ({"batch": "b2"}, ["B-2"]),
        ({"midi": 60}, ["A-1", "B-2"]),
    ]:  # fmt: skip
        codes = sorted(each.code for each in queries.candidates(Scope(**scope)))
        assert codes == found


def test_a_difference_is_remembered_from_rounds_and_from_single_counts():
    _first, second, third = a_rack(5, 5, 5)
    round_ = a_round(1)
    counted(round_, 1, 3)
    actions.book(somebody(), round_)
    rack.count(somebody(), second, 9)
    rack.count(somebody(), third, 5)
    asks = {a.bin.code: a.why for a in a_round().asks.select_related("bin")}
    assert asks == {"A-1": Ask.DIFFERED, "A-2": Ask.DIFFERED}
    assert dict(LastCount.objects.values_list("bin__code", "change")) == {
        "A-1": -2, "A-2": 4, "A-3": 0
    }  # fmt: skip


def test_a_later_count_that_agreed_clears_the_difference():
    (plates,) = a_rack(5)
    rack.count(somebody(), plates, 3)
    actions.give_up(somebody(), a_round())
    rack.count(somebody(), plates, 3)
    with pytest.raises(NotSo, match="no bin to count"):
        a_round()


def test_plates_taken_lately_are_known_and_counts_are_not_takings():
    (plates,) = a_rack(9)
    rack.scrap(somebody(), plates, 2, note="bent")
    rack.count(somebody(), plates, 1)
    assert queries.taken_lately() == {plates.pk: 2}


def test_a_count_below_nothing_is_refused():
    a_rack(5)
    with pytest.raises(NotSo, match="A count of -1 cannot be"):
        counted(a_round(), 1, -1)
    assert Line.objects.count() == 1
