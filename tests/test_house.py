"""The house itself: its rooms and its papers agree, and nothing in it grows too large."""

import ast
import functools
import os
import re
import tokenize
import tomllib
from collections import Counter
from pathlib import Path

import combwright

PROJECT = Path(__file__).parents[1]
HOUSE = PROJECT / "src" / "combwright"
DOCS = PROJECT / "docs"
MODULES = sorted(path for path in HOUSE.rglob("*.py") if "migrations" not in path.parts)
MOST_LINES, MOST_LINES_OF_A_FUNCTION = 400, 50
DRAWERS = {"utils", "util", "helpers", "helper", "common", "core", "services", "misc"}
FONTS = {".ttf", ".otf", ".ttc", ".woff", ".woff2", ".eot", ".pfb", ".pfa"}
#: What git leaves out, and what it keeps for itself.
NOT_OURS = {".git", ".venv", ".hypothesis", "__pycache__", "dist", "demo-shop"}
#: A key in brackets, and neither an index nor a list in code.
KEY = re.compile(r"(?<![\w\])\"'\[])\[([a-z][a-z0-9]*(?:-[a-z0-9]+)*)\](?![\](])")
#: Sections of settings files, which are written the same way.
SECTIONS = {
    "chamber", "seat", "upper", "lower", "parts", "retune", "weight", "labels", "paper", "money",
}  # fmt: skip


def name_of(path):
    return str(path.relative_to(PROJECT))


def tree(path):
    """Return a module's syntax tree."""
    return ast.parse(path.read_text("utf-8"))


def papers():
    """Yield every file of the project and of nobody else."""
    for folder, inner, names in os.walk(PROJECT):
        inner[:] = [name for name in inner if name not in NOT_OURS and not name.endswith("_cache")]
        yield from (Path(folder) / name for name in names)


def texts():
    """Yield every file of the project that is text, and its text."""
    for path in papers():
        try:
            yield path, path.read_text("utf-8")
        except UnicodeDecodeError:
            continue


def prose_of(path):
    """Yield the docstrings and comments of a module."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            yield ast.get_docstring(node) or ""
    with path.open("rb") as file:
        yield from (
            token.string
            for token in tokenize.tokenize(file.readline)
            if token.type == tokenize.COMMENT
        )


@functools.cache
def cited():
    """Return every key that a docstring or a comment cites, with a place where it does."""
    return {
        key: name_of(path)
        for room in ("src", "tests", "benchmarks")
        for path in sorted((PROJECT / room).rglob("*.py"))
        if KEY.search(path.read_text("utf-8"))  # most cite nothing, and parsing takes its time
        for prose in prose_of(path)
        for key in KEY.findall(prose)
        if key not in SECTIONS
    }


def known_keys():
    """Return the keys of docs/sources.md, one an entry, as they stand."""
    text = (DOCS / "sources.md").read_text("utf-8")
    return re.findall(r"^- \*\*\[([^\]]+)\]\*\*", text, re.MULTILINE)


def test_the_readmes_tree_shows_every_room_and_no_other():
    readme = (PROJECT / "README.md").read_text("utf-8")
    (block,) = re.findall(r"^```\w*\nsrc/combwright/\n(.*?)^```", readme, re.MULTILINE | re.DOTALL)
    shown = re.match(r"(?:[ \t]+.*\n)+", block)[0]
    rooms = re.findall(r"^[ \t]+([\w/]+)/(?=[ \t])", shown, re.MULTILINE)
    assert sorted(rooms) == sorted(path.parent.name for path in HOUSE.glob("*/__init__.py"))


def test_every_room_has_tests():
    rooms = {path.parent.name for path in HOUSE.glob("*/__init__.py")}
    tested = {path.parent.name for path in (PROJECT / "tests").glob("*/test_*.py")}
    tested |= {path.parents[1].name for path in (PROJECT / "tests").glob("*/*/test_*.py")}
    assert rooms <= tested


def test_every_command_stands_in_the_readme_and_in_the_guide():
    from cli.test_help import COMMANDS

    readme = (PROJECT / "README.md").read_text("utf-8")
    guide = (DOCS / "guide.md").read_text("utf-8")
    assert [name for name in COMMANDS if f"| `{name}" not in readme] == []
    assert [name for name in COMMANDS if not re.search(rf"(combwright |`){name}\b", guide)] == []


def test_the_glossary_has_each_word_once():
    text = (DOCS / "glossary.md").read_text("utf-8")
    words = Counter(word.casefold() for word in re.findall(r"^- \*\*(.+?)\*\*", text, re.MULTILINE))
    assert len(words) > 50
    assert [word for word, times in words.items() if times > 1] == []


def test_every_source_that_is_cited_is_known():
    known = set(known_keys())
    assert {key: place for key, place in cited().items() if key not in known} == {}


def test_every_source_that_is_known_is_cited_and_has_one_entry():
    found = Counter(known_keys())
    assert found
    assert [key for key, times in found.items() if times > 1] == []
    others = "\n".join(
        path.read_text("utf-8")
        for path in (*DOCS.rglob("*.md"), *(PROJECT / "tests" / "reference").iterdir())
        if path != DOCS / "sources.md"
    )
    assert [key for key in found if key not in cited() and key not in others] == []


def test_decisions_are_numbered_without_gaps():
    names = sorted(path.name for path in (DOCS / "decisions").iterdir())
    assert names
    assert all(re.fullmatch(r"\d{4}-[a-z0-9-]+\.md", name) for name in names)
    assert [int(name[:4]) for name in names] == list(range(1, len(names) + 1))
    for name in names:
        title = (DOCS / "decisions" / name).read_text("utf-8").splitlines()[0]
        assert re.match(rf"# {name[:4]}:? \S", title)


def test_every_module_says_what_it_is_and_stays_readable():
    assert [name_of(path) for path in MODULES if not ast.get_docstring(tree(path))] == []
    lengths = {name_of(path): len(path.read_text("utf-8").splitlines()) for path in MODULES}
    assert {name: lines for name, lines in lengths.items() if lines > MOST_LINES} == {}


def test_every_function_fits_a_screen():
    lengths = {
        f"{name_of(path)}: {node.name}": _lines_of_code(node)
        for path in MODULES
        for node in ast.walk(tree(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    }
    assert {n: lines for n, lines in lengths.items() if lines > MOST_LINES_OF_A_FUNCTION} == {}


def _lines_of_code(function):
    """Count a function's lines from its first statement on, its docstring left out."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return function.end_lineno - body[0].lineno + 1 if body else 0


def test_a_room_says_in_one_docstring_what_it_is_for_and_hands_nothing_on():
    for path in HOUSE.glob("*/__init__.py"):
        assert len(tree(path).body) == 1, name_of(path)


def test_no_module_is_a_drawer_for_everything():
    folders = [PROJECT / room for room in ("src", "tests", "benchmarks")]
    found = [path for folder in folders for path in folder.rglob("*") if path.stem in DRAWERS]
    assert [name_of(path) for path in found] == []


def test_no_text_names_a_place_on_one_machine():
    place = re.compile("|".join("/" + word + "/" for word in ("wo" + "rk", "fa" + "rm")))
    assert [name_of(path) for path, text in texts() if place.search(text)] == []


def test_the_version_is_the_same_wherever_it_stands():
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
    changelog = (PROJECT / "CHANGELOG.md").read_text("utf-8")
    newest = re.search(r"^## \[(\d+\.\d+\.\d+)\]", changelog, re.MULTILINE)[1]
    assert project["version"] == newest == combwright.__version__


def test_no_font_is_committed():
    assert [name_of(path) for path in papers() if path.suffix.lower() in FONTS] == []
