"""Help is tested: a command, an option or an argument without a help line fails."""

import json
import subprocess
import sys

import pytest
import typer

from cli.commands import combwright
from combwright.cli.main import app

COMMANDS = typer.main.get_command(app).commands
PARAMETERS = [(name, each) for name, command in COMMANDS.items() for each in command.params]
HEAVY = {"numpy", "ortools", "highspy", "typst", "openpyxl", "rich", "django", "numba", "mido"}
SHOW_MODULES = """
import json, sys
from combwright.cli.main import run
for arguments in json.loads(sys.argv[1]):
    sys.argv = ["combwright", *arguments]
    try:
        run()
    except SystemExit as stop:
        assert stop.code == 0, arguments
print(json.dumps(sorted(sys.modules)))
"""


def words(text):
    return " ".join(text.split())


def test_the_commands_of_the_contract_are_there():
    assert {"plan", "can", "fit", "show", "check", "example", "demo", "layouts"} <= set(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_what_it_does(name):
    about = COMMANDS[name].help
    assert len(words(about or "")) > 20
    answer = combwright(name, "--help")
    assert (answer.code, answer.err) == (0, "")
    assert words(about) in words(answer.out)
    assert f"  {name}" in combwright("--help").out


@pytest.mark.parametrize(("name", "parameter"), PARAMETERS, ids=lambda each: str(each))
def test_every_option_and_argument_has_a_help_line(name, parameter):
    about = words(parameter.help or "")
    assert len(about.split()) > 1
    printed = words(combwright(name, "--help").out)
    assert about in printed
    shown = parameter.opts[0] if parameter.opts[0].startswith("--") else parameter.metavar
    assert shown in printed.split(about)[0]


def test_help_imports_nothing_that_is_slow_to_import():
    asked = [["--help"], *([name, "--help"] for name in COMMANDS)]
    done = subprocess.run(
        [sys.executable, "-c", SHOW_MODULES, json.dumps(asked)],
        check=True, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    modules = {name.split(".")[0] for name in json.loads(done.stdout.splitlines()[-1])}
    assert {"typer", "combwright"} <= modules
    assert not HEAVY & modules


def test_without_anything_asked_the_help_is_shown():
    answer = combwright()
    assert (answer.code, answer.err) == (0, "")
    assert answer.out == combwright("--help").out
