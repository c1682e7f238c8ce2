import pytest

from combwright.inspection.chances import BadPlan
from combwright.inspection.letters import SHARES, plan_by_letter
from published import rows

TABLE = rows("attribute_plans.csv")
COLUMNS = ["0.65", "1.0", "1.5", "2.5", "4.0", "6.5", "10"]


def followed(row, column):
    """Follow the printed arrows to a number."""
    while TABLE[row][column] in ("up", "down"):
        row += 1 if TABLE[row][column] == "down" else -1
    return TABLE[row]


@pytest.mark.parametrize("column", COLUMNS)
@pytest.mark.parametrize("row", range(len(TABLE)))
def test_the_plan_is_the_published_one(row, column):
    printed = followed(row, column)
    for lot in {TABLE[row]["from"], TABLE[row]["to"] or "700000"}:
        ours = plan_by_letter(int(lot), column)
        assert ours.letter == printed["letter"]
        assert ours.plan.sample == min(int(printed["sample"]), int(lot))
        assert ours.plan.accept == int(printed[column])


def test_the_tables_shares_are_the_published_ones():
    assert [float(each) for each in SHARES] == [float(each) for each in COLUMNS]


def test_what_the_table_does_not_have_is_refused():
    with pytest.raises(BadPlan, match=r"no share of 3 %; it has 0\.65, 1, 1\.5"):
        plan_by_letter(100, "3")
    with pytest.raises(BadPlan, match="begins with 2 plates"):
        plan_by_letter(1, "1.0")
