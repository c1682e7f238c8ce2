"""The shop started as a person starts it: the demo's, and an empty one on its first run."""

import os
import signal
import socket
import subprocess
import time
import urllib.request

import pytest

from cli.commands import COMMAND

pytestmark = pytest.mark.journey


def without_settings():
    hidden = {"COMBWRIGHT_DATA", "DJANGO_SETTINGS_MODULE", "COMBWRIGHT_DATABASE"}
    return {name: value for name, value in os.environ.items() if name not in hidden}


def test_the_demo_shop_is_set_up_twice_over_checked_and_left(tmp_path):
    for _ in range(2):
        run = subprocess.run(
            [COMMAND, "demo", tmp_path / "demo", "--no-serve"],
            env=without_settings(), capture_output=True, text=True, check=False, timeout=120,
        )  # fmt: skip
        assert (run.returncode, run.stderr) == (0, "")
        assert "The demo shop was set up, looked at and found in order." in run.stdout
    assert (tmp_path / "demo" / "shop" / "shop.sqlite3").exists()
    assert (tmp_path / "demo" / "shop" / "secret").stat().st_mode & 0o077 == 0


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def get(address):
    for _ in range(100):
        try:
            return urllib.request.urlopen(address, timeout=5)
        except OSError:
            time.sleep(0.2)
    raise AssertionError(f"nothing answers at {address}")


def test_an_empty_shop_opens_on_the_page_that_makes_its_owner_and_closes_on_ctrl_c(tmp_path):
    port = free_port()
    served = subprocess.Popen(
        [COMMAND, "serve", "--data", tmp_path / "shop", "--port", str(port)],
        env=without_settings(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        with get(f"http://127.0.0.1:{port}/") as answer:
            assert answer.url.endswith("/people/first/")
            assert "Content-Security-Policy" in answer.headers
        taken = subprocess.run(
            [COMMAND, "serve", "--data", tmp_path / "other", "--port", str(port)],
            env=without_settings(), capture_output=True, text=True, check=False, timeout=60,
        )  # fmt: skip
        assert taken.returncode == 2
        assert taken.stderr.startswith(
            f"Error: The shop cannot be opened at 127.0.0.1, port {port}"
        )
    finally:
        served.send_signal(signal.SIGINT)
        out, err = served.communicate(timeout=30)
    assert "The shop is open at" in out
    assert "Traceback" not in err
