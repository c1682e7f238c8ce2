"""What is compiled is kept where it can be, and a search goes on where it cannot."""

import sys
from pathlib import Path

import pytest

from combwright.playing import compiling

PACKAGE = Path(compiling.__file__).parent


@pytest.fixture(autouse=True)
def home(monkeypatch, tmp_path):
    """A user whose folder for such things is an empty one."""
    monkeypatch.setenv("HOME", str(tmp_path))
    for name in ("XDG_CACHE_HOME", "NUMBA_CACHE_DIR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    compiling.kept_in.cache_clear()
    yield tmp_path
    compiling.kept_in.cache_clear()


def only(monkeypatch, *allowed):
    """Let files be written in some folders alone, as a read-only disk does for root too."""
    written = compiling._writable
    monkeypatch.setattr(
        compiling, "_writable",
        lambda folder: any(folder.is_relative_to(each) for each in allowed) and written(folder),
    )  # fmt: skip


def test_it_is_kept_beside_the_code():
    assert compiling.kept_in().parent == PACKAGE / "__pycache__"


def test_where_nothing_can_be_written_beside_the_code_the_users_folder_takes_it(monkeypatch, home):
    only(monkeypatch, home)
    assert compiling.kept_in().parent == home / ".cache"
    assert compiling.kept_in().is_dir()


def test_where_nothing_can_be_written_at_all_it_is_compiled_anew_each_time(monkeypatch):
    only(monkeypatch)
    assert compiling.kept_in() is None

    @compiling.compiled
    def twice(number):
        return 2 * number

    assert twice(21) == 42


def test_a_folder_that_is_no_folder_is_passed_over(monkeypatch, home):
    (home / ".cache").write_text("a file")
    monkeypatch.setattr(compiling, "_places", lambda here: iter([home / ".cache", home / "b"]))
    assert compiling.kept_in().parent == home / "b"


def test_another_source_is_kept_in_another_folder(monkeypatch):
    before = compiling.kept_in()
    compiling.kept_in.cache_clear()
    monkeypatch.setattr(compiling, "_SOURCES", ("desk",))
    assert compiling.kept_in() != before


def test_every_module_with_compiled_loops_is_among_the_sources():
    for module in PACKAGE.glob("*.py"):
        text = module.read_text("utf-8")
        if "\n@compiled" in text or "\n@part" in text or "\n@intrinsic" in text:
            assert module.stem in compiling._SOURCES
            names = [line.split()[1] for line in text.splitlines()
                     if line.startswith("from combwright.playing.")]  # fmt: skip
            assert {name.rpartition(".")[2] for name in names} <= set(compiling._SOURCES)


def test_who_says_where_compiled_things_are_kept_has_them_there(monkeypatch, tmp_path):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "mine"))
    assert compiling.kept_in().parent == tmp_path / "mine"
