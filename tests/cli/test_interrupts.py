"""Ctrl-C: it ends the command at once, whatever it is at, and leaves nothing half done."""

import os
import pty
import random
import select
import signal
import subprocess
import time

import pytest

from cli.commands import COMMAND, listing
from cli.pitches import name
from combwright.notes.keys import ORDINARY_KEYS
from published import rows

#: The command may take a second to tidy up; the rest is for a busy machine.
SECONDS = 2.5
SHOW_CURSOR = b"\x1b[?25h"


@pytest.fixture(autouse=True)
def interrupts_reach_children():
    """A test run in the background may ignore SIGINT, which a child would inherit."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def write_large_shop(folder, *, plates, orders):
    """Write a rack of measured plates, each with a price of its own, and as varied orders."""
    rng = random.Random(1)
    steps = [int(row[breath]) for row in rows("oeis_a291810.csv") for breath in ("blow", "draw")]
    lines = ["bin,pitch,cents,slot_mm,mount,batch,count,cost"]
    for number in range(plates):
        place = rng.randrange(20)
        note = name(60 + steps[place] + rng.randrange(-5, 7))
        slot, mount = 16.1 - 0.73 * (place // 2), ("front", "rear")[place % 2]
        cents, cost = rng.gauss(0, 3), 1.5 + rng.random()
        batch = f"b{rng.randrange(3)}"
        lines.append(f"A-{number},{note},{cents:.3f},{slot:.2f},{mount},{batch},1,{cost:.2f}")
    (folder / "rack.csv").write_text("\n".join(lines))
    lines = ["order,key,layout,kit,value"]
    layouts = ("standard", "fifth-draw-raised", "third-blow-raised", "natural-minor", "circular")
    for number in range(orders):
        key, layout = rng.choice(ORDINARY_KEYS), rng.choice(layouts)
        kit = rng.choice(("", "5 draw", "4 draw; 5 draw"))
        lines.append(f"W-{number},{key},{layout},{kit},{100 + 100 * rng.random():.4f}")
    (folder / "orders.csv").write_text("\n".join(lines))


def write_long_pick_list(folder, *, bins):
    """Write a rack and one order that takes a plate from every bin of it."""
    lines = [f"A-{number},F5,0,9,front,b,1,2" for number in range(bins)]
    (folder / "rack.csv").write_text(
        "\n".join(["bin,pitch,cents,slot_mm,mount,batch,count,cost", *lines])
    )
    (folder / "orders.csv").write_text(
        f"order,what,quantity,key,layout,kit\nW,plates,{bins},C,standard,5 draw\n"
    )


def interrupted(process):
    """Send what Ctrl-C sends, and return how long the process took to end."""
    assert process.poll() is None, "the command was over before it could be stopped"
    started = time.monotonic()
    process.send_signal(signal.SIGINT)
    process.wait(30)
    return time.monotonic() - started


def read_until(terminal, word, seen=b""):
    """Read what is shown on a terminal until a word stands there, or there is no more."""
    while word not in seen and select.select([terminal], [], [], 30)[0]:
        try:
            seen += os.read(terminal, 65536)
        except OSError:  # Linux's way of saying that the other end is closed
            break
    return seen


def test_a_large_plan_ends_within_two_seconds_and_gives_the_terminal_back(tmp_path):
    write_large_shop(tmp_path, plates=20_000, orders=3_000)
    before = listing(tmp_path)
    terminal, other_end = pty.openpty()
    with subprocess.Popen(
        [COMMAND, "plan", "rack.csv", "orders.csv", "--sheets", "sheets"],
        cwd=tmp_path, stdout=subprocess.PIPE, stderr=other_end,
    ) as process:  # fmt: skip
        os.close(other_end)
        seen = read_until(terminal, b"choosing orders")
        assert b"choosing orders" in seen
        time.sleep(0.5)  # into the solver
        took = interrupted(process)
        out = process.stdout.read()
    seen = read_until(terminal, b"there is no such word", seen)
    os.close(terminal)
    assert (process.returncode, out) == (130, b"")
    assert took < SECONDS
    assert b"Traceback" not in seen
    assert seen.count(SHOW_CURSOR) >= 1
    assert seen.rindex(SHOW_CURSOR) > seen.rindex(b"choosing orders")
    assert listing(tmp_path) == before


def test_sheets_that_are_being_set_are_swept_away(tmp_path):
    """The pick list of so many bins is one call into foreign code, longer than the grace given."""
    write_long_pick_list(tmp_path, bins=6_000)
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    before = listing(tmp_path)
    with subprocess.Popen(
        [COMMAND, "plan", "rack.csv", "orders.csv", "--sheets", "sheets", "--json"],
        cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env={**os.environ, "TMPDIR": str(scratch)},
    ) as process:  # fmt: skip
        while not (list(scratch.iterdir()) and (tmp_path / "sheets").exists()):
            assert process.poll() is None, process.stderr.read()
            time.sleep(0.02)
        time.sleep(0.5)
        took = interrupted(process)
        out, err = process.stdout.read(), process.stderr.read()
    assert (process.returncode, out, err) == (130, b"", b"")
    assert took < SECONDS
    found = listing(tmp_path)
    assert set(found) == set(before)
    assert not list(scratch.iterdir())


def test_sheets_of_an_earlier_plan_stay_as_they_were(tmp_path):
    write_long_pick_list(tmp_path, bins=6_000)
    (tmp_path / "sheets").mkdir()
    (tmp_path / "sheets" / "pick-list.pdf").write_text("yesterday's")
    (tmp_path / "sheets" / ".kept").write_text("mine")
    with subprocess.Popen(
        [COMMAND, "plan", "rack.csv", "orders.csv", "--sheets", "sheets"],
        cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as process:  # fmt: skip
        while len(list((tmp_path / "sheets").iterdir())) < 3:
            assert process.poll() is None, process.stderr.read()
            time.sleep(0.02)
        time.sleep(0.5)
        interrupted(process)
        err = process.stderr.read()
    assert (process.returncode, err) == (130, b"")
    left = {path.name: path.read_text() for path in (tmp_path / "sheets").iterdir()}
    assert left == {"pick-list.pdf": "yesterday's", ".kept": "mine"}
