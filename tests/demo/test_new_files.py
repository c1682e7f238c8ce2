import pytest

from combwright.demo.example import write_example
from combwright.demo.new_files import CannotWrite, WouldOverwrite, write_new
from combwright.demo.scenario import write_demo_shop
from combwright.errors import CombwrightError


@pytest.mark.parametrize("write", [write_example, write_demo_shop])
def test_a_file_that_is_there_is_named_and_nothing_is_written(tmp_path, write):
    (tmp_path / "parts.csv").write_text("mine")
    with pytest.raises(WouldOverwrite, match=r"parts\.csv is there already; nothing was written"):
        write(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["parts.csv"]
    assert (tmp_path / "parts.csv").read_text() == "mine"


def test_writing_twice_is_refused_and_the_others_are_counted(tmp_path):
    paths = write_example(tmp_path)
    before = {path: path.read_bytes() for path in paths}
    with pytest.raises(WouldOverwrite, match=r"READ-ME-FIRST\.txt is there already \(and 9 more\)"):
        write_example(tmp_path)
    assert {path: path.read_bytes() for path in paths} == before


def test_a_link_that_leads_nowhere_is_not_written_through(tmp_path):
    (tmp_path / "a.txt").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(WouldOverwrite, match=r"a\.txt is there already"):
        write_new(tmp_path, {"a.txt": "text"})
    assert not (tmp_path / "elsewhere").exists()


def test_other_files_of_the_folder_are_left_alone(tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    assert len(write_example(tmp_path)) == 10
    assert (tmp_path / "notes.txt").read_text() == "mine"


def test_a_folder_that_is_a_file_gives_one_clear_line(tmp_path):
    (tmp_path / "folder").write_text("a file")
    with pytest.raises(CannotWrite, match="cannot be written: ") as caught:
        write_example(tmp_path / "folder")
    assert isinstance(caught.value, CombwrightError)
    assert "\n" not in str(caught.value)
    assert (tmp_path / "folder").read_text() == "a file"


def test_when_one_file_cannot_be_written_none_stays(tmp_path):
    with pytest.raises(CannotWrite):
        write_new(tmp_path, {"a.txt": "text", "no such folder/b.txt": "text"})
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_holds_the_same_is_left_where_that_is_fine(tmp_path):
    write_new(tmp_path, {"a.txt": "text"})
    written = write_new(tmp_path, {"a.txt": "text", "b.txt": "more"}, same_is_fine=True)
    assert [path.name for path in written] == ["a.txt", "b.txt"]
    (tmp_path / "a.txt").write_text("mine")
    with pytest.raises(WouldOverwrite, match=r"a\.txt"):
        write_new(tmp_path, {"a.txt": "text"}, same_is_fine=True)
    assert (tmp_path / "a.txt").read_text() == "mine"
