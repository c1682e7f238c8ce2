"""A shop with one built instrument, served as users serve it, and microphones that play files."""

import json
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import soundfile
from playwright.sync_api import sync_playwright

from combwright.notes.pitch import hertz
from ear.reeds import reed
from shop.conftest import FLAGS, chromium
from shop.journeys.served import environment

TESTS = Path(__file__).parents[2]
#: Partials of the reeds that a microphone plays; the same for all, so that truth is exact.
PARTS = (1.0, 0.6, 0.4, 0.25, 0.15, 0.1, 0.06)
SERIAL = "00001"
BUILD = """
import json
import sys
import django
django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0, interactive=False)
from shop.bench.days import a_set, built, somebody
somebody()
somebody("maker", "mats")
somebody("office", "olga")
a_set()
built(layout="standard", key="C")
from shop.arrivals.samples import a_sample
from shop.rack.shelves import a_bin
a_bin("jig-1", 1, batch="b7", midi=60)
a_sample(a_bin("jig-2", 1, batch="b7", midi=62).batch, lot=2, sample=2, accept=0)
from django.test import Client
marks = {}
for name in ("mats", "olga"):
    client = Client()
    client.force_login(somebody(name=name))
    marks[name] = client.cookies["sessionid"].value
json.dump(marks, sys.stdout)
"""


def built_shop(folder):
    """Make a shop's data in which instrument 00001, in C, is built.

    Returns the sessions of a maker, mats, and of the office, olga, who are logged in.
    """
    ours = {
        "COMBWRIGHT_DATA": str(folder),
        "DJANGO_SETTINGS_MODULE": "combwright.shop.settings",
        "PYTHONPATH": str(TESTS),
    }
    done = subprocess.run(
        [sys.executable, "-c", BUILD], env=environment() | ours, check=True, capture_output=True
    )
    return json.loads(done.stdout)


def note(midi, cents, seconds, *, rate=48_000, level=0.3, rng=None):
    """Return a reed of a note and so many cents off, that begins and ends softly."""
    rng = rng or np.random.default_rng(midi)
    sound, _ = reed(float(hertz(midi, cents)), seconds, rng=rng, snr_db=40, rate=rate, parts=PARTS)
    edge = min(len(sound) // 4, round(0.01 * rate))
    shape = np.ones(len(sound))
    shape[:edge] = np.linspace(0, 1, edge)
    shape[-edge:] = shape[:edge][::-1]
    return level / 0.1 * sound * shape


def silence(seconds, *, rate=48_000):
    """Return a room without a reed: what every real microphone hears."""
    return np.random.default_rng(1).normal(0, 1e-5, round(seconds * rate))


def wav(path, *parts, rate=48_000):
    """Write sounds after one another, as a microphone that is made up can play them: 16 bits."""
    sound = np.concatenate(parts)
    soundfile.write(path, np.clip(sound, -1, 1), rate, subtype="PCM_16")
    return path


@contextmanager
def microphone(file, *, lent=True):
    """Open a browser whose microphone plays a file over and over; None has no microphone."""
    flags = [*FLAGS, "--autoplay-policy=no-user-gesture-required"]
    if file is not None:
        flags += [
            "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-audio-capture={file}",
        ]
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium(), args=flags)
        context = browser.new_context(
            viewport={"width": 1024, "height": 900},
            reduced_motion="reduce",
            permissions=["microphone"] if lent else [],
        )
        yield context
        context.close()
        browser.close()
