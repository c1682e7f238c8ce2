import pytest

from combwright.files.decimals import Unclear, decimal_mark, plain_number
from combwright.files.grids import Column
from combwright.files.results import BadCell
from combwright.files.tables import read_table
from files.written import line_of, lines_of, write

COLUMNS = (Column("bin"), Column("cost", number=True), Column("count", must=False, number=True))


@pytest.mark.parametrize(
    ("texts", "separator", "mark"),
    [
        (["14.2"], ",", "point"),
        (["14.2"], ";", "point"),
        (["14,2"], ";", "comma"),
        (["14,2"], ",", "comma"),
        (["0.125"], ";", "point"),
        (["1234,567"], ",", "comma"),
        (["1.234"], ",", "point"),
        (["1,234"], ";", "comma"),
        (["1,234", "2,5"], ",", "comma"),
        (["1.234", "2.5"], ";", "point"),
        (["1.234", "2,5"], ";", "comma"),
        (["12", "no number", "", ".", ","], ",", "point"),
        (["12"], ";", "comma"),
        (["-0,5"], "", "comma"),
        (["\u22120,5"], ";", "comma"),
    ],
)
def test_the_decimal_mark_is_told_from_the_numbers(texts, separator, mark):
    assert decimal_mark(texts, separator) == mark


@pytest.mark.parametrize(
    ("texts", "separator", "reason"),
    [
        (["1,234"], ",", r"can be read as 1\.234 or as 1234"),
        (["1.234"], ";", r"can be read as 1\.234 or as 1234"),
        (["1,234"], "", r"can be read as 1\.234 or as 1234"),
        (["1,234", "1.234"], ";", "can be read as"),
        (["14,2", "14.2"], ";", r"'14,2' has a decimal comma, but another cell, '14\.2'"),
    ],
)
def test_an_unclear_decimal_mark_is_asked_for(texts, separator, reason):
    found = decimal_mark(texts, separator)
    assert isinstance(found, Unclear)
    with pytest.raises(AssertionError, match=reason):
        raise AssertionError(found.reason)


def costs(path, **options):
    table = read_table(path, COLUMNS, **options)
    found = table.filled("cost", float)
    table.finish()
    return found


def test_an_unclear_file_names_the_cell_and_what_to_write(tmp_path):
    path = write(tmp_path, "rack.csv", 'bin,cost\nA,12\nB,"1,250"\n')
    assert line_of(costs, path) == (
        "rack.csv, row 3, column cost: '1,250' can be read as 1.25 or as 1250; write 1250 if that "
        "is meant, one decimal place more or fewer if not, or name the decimal "
        "mark: --decimal point or --decimal comma."
    )


def test_saying_the_mark_settles_an_unclear_file(tmp_path):
    path = write(tmp_path, "rack.csv", 'bin,cost\nA,12\nB,"1,250"\n')
    assert costs(path, decimal="comma") == [12.0, 1.25]
    assert "'1,250' seems to part the thousands" in line_of(costs, path, decimal="point")


def test_an_unclear_mark_hides_no_other_problem_of_the_file(tmp_path):
    path = write(tmp_path, "rack.csv", 'bin,cost\nA,"1,250"\nB,1,2,3\n')
    assert len(lines_of(costs, path)) == 2


def test_a_mark_in_a_text_column_decides_nothing(tmp_path):
    path = write(tmp_path, "rack.csv", "bin;cost\nA-1.5;14,2\n")
    assert costs(path) == [14.2]


@pytest.mark.parametrize(
    ("text", "mark", "plain"),
    [
        ("14.2", "point", "14.2"),
        ("14,2", "comma", "14.2"),
        ("\u22125", "comma", "-5"),
        ("+5,", "comma", "+5."),
        (",5", "comma", ".5"),
        ("1E-05", "point", "1E-05"),
    ],
)
def test_a_number_is_made_plain(text, mark, plain):
    assert plain_number(text, mark) == plain


@pytest.mark.parametrize(
    ("text", "mark", "said"),
    [
        ("14,2", "point", r"has a decimal comma, but this file has decimal points; write 14\.2"),
        ("14.2", "comma", r"has a decimal point, but this file has decimal commas; write 14,2"),
        ("1.234", "comma", "seems to part the thousands"),
        ("1.234,5", "comma", "seems to part the thousands"),
        ("1,234.5", "point", "seems to part the thousands"),
        ("1 234", "point", "seems to part the thousands"),
        ("14.2 mm", "point", "is no number"),
        ("", "point", "is no number"),
        ("Infinity", "point", "is no finite number"),
    ],
)
def test_a_number_written_otherwise_is_refused(text, mark, said):
    with pytest.raises(BadCell, match=said):
        plain_number(text, mark)
