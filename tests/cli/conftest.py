import pytest

from cli.commands import combwright


@pytest.fixture(scope="session")
def example_set(tmp_path_factory):
    """The example files, to be read only."""
    folder = tmp_path_factory.mktemp("examples") / "set"
    assert combwright("example", folder).code == 0
    return folder


@pytest.fixture
def shop(tmp_path):
    """The example files in a folder of a test's own."""
    combwright("example", tmp_path / "shop")
    return tmp_path / "shop"
