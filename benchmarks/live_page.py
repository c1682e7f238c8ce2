"""How soon the live page shows what a reed does: `python -m benchmarks.live_page [--changes 12]`.

Chromium plays a made-up recording into its microphone; the shop runs as users run it. A change is
either a note that begins after a rest or one that follows another at once, marked by a click of six
samples. Measured from the moment at which the page's worklet hands over the block with the change,
to the moment at which the page's text names the new reed, and to the settled reading. Painting, and
what lies before the worklet, are not in it. The goals are 120 ms for the first and 300 ms for the
settled one.
"""

import argparse
import statistics
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import Page

from shop.journeys.served import served
from shop.tuning.workshop import SERIAL, built_shop, microphone, note, silence, wav

#: Reeds of a standard instrument in C, next to each other on the ear but not in pitch.
REEDS = {60: "1 blow", 76: "5 blow", 62: "1 draw", 79: "6 blow"}
_CLICK = 0.98
WATCH = """
(gap) => {
  const panel = document.getElementById("listen"), seat = panel.querySelector("[data-seat]");
  const out = (window.measured = []);
  let quiet = 0, change = null;
  panel.addEventListener("block", ({ detail }) => {
    let peak = 0;
    for (const sample of detail) peak = Math.max(peak, Math.abs(sample));
    const begins = gap ? peak > 0.02 && quiet > 5 : peak > 0.9;
    quiet = peak > 0.02 ? 0 : quiet + 1;
    if (begins) {
      change = { at: performance.now(), before: seat.textContent };
      out.push(change);
    }
  });
  panel.addEventListener("heard", ({ detail }) => {
    if (!change || detail.hz === undefined || seat.textContent === change.before) return;
    change.first ??= performance.now() - change.at;
    if (detail.settled) change.settled ??= performance.now() - change.at;
  });
}
"""


def _recording(changes: int, *, gap: bool) -> list[np.ndarray[Any, np.dtype[np.float64]]]:
    """Return notes of 0.8 s, with rests of 0.3 s between or a click where one follows another."""
    parts = [silence(0.4)]
    reeds = list(REEDS)
    for n in range(changes):
        sound = note(reeds[n % len(reeds)], 3.0, 0.8)
        if gap:
            parts += [sound, silence(0.3)]
        else:
            sound[:6] = _CLICK
            parts.append(sound)
    return [*parts, silence(1.0)]


def _measured(page: Page, seconds: float, *, gap: bool) -> Sequence[dict[str, float]]:
    page.evaluate(WATCH, gap)
    page.get_by_role("button", name="Listen", exact=True).click()
    page.wait_for_timeout(1000 * seconds)
    found: Sequence[dict[str, float]] = page.evaluate("window.measured")
    return [each for each in found if "first" in each and "settled" in each]


def measure(changes: int) -> None:
    """Print how soon changes are shown."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        marks = built_shop(folder / "shop")
        with served(folder / "shop") as shop:
            for gap in (True, False):
                parts = _recording(changes, gap=gap)
                file = wav(folder / f"{gap}.wav", *parts)
                seconds = sum(map(len, parts)) / 48_000
                with microphone(file) as context:
                    context.add_cookies(
                        [{"name": "sessionid", "value": marks["mats"], "url": shop.origin}]
                    )
                    page = context.new_page()
                    page.goto(f"{shop.origin}/tuning/{SERIAL}/")
                    _tell(_measured(page, seconds + 1, gap=gap), changes, gap=gap)


def _tell(found: Sequence[dict[str, float]], changes: int, *, gap: bool) -> None:
    what = "after a rest" if gap else "at once"
    if not found:
        print(f"  {what:<14} no change was shown")
        return
    for name, goal in (("first", 120), ("settled", 300)):
        times = [each[name] for each in found]
        print(
            f"  {what:<14} {name:<8} {statistics.median(times):5.0f} ms median, "
            f"{max(times):5.0f} most (goal {goal}); {len(times)} of {changes}"
        )


def main(given: Sequence[str] | None = None) -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--changes", type=int, default=12, help="changes of each kind")
    print("The live page: from the worklet's block with a change to the page's text")
    measure(asked.parse_args(given).changes)


if __name__ == "__main__":
    main()
