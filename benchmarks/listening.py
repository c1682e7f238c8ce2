"""Listening while a reed sounds: how soon a reading stands, how far it is off, what it costs.

python -m benchmarks.listening [--tones 20]
"""

import argparse
import time

import numpy as np

from benchmarks.reeds import RATE, make
from combwright.ear.live import Listener

SETTLED_GOAL_S, CORE_GOAL = 0.3, 0.1
_REST_S, _NOTE_S, _SNR_DB, _BLOCK = 0.2, 0.8, 25.0, 512


def main(arguments: list[str] | None = None) -> None:
    """Print it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tones", type=int, default=20, help="how many notes")
    tell(parser.parse_args(arguments).tones)


def tell(tones: int) -> None:
    """Listen to some notes one after the other, and print what came of it beside the goals."""
    rng = np.random.default_rng(1)
    firsts, settled, errors, spent = [], [], [], 0.0
    for number in range(tones):
        made = make(rng, number, _NOTE_S, _SNR_DB)
        rest = rng.normal(0, 1e-4, round(_REST_S * RATE))
        sound, listener = np.concatenate([rest, made.samples]), Listener(RATE)
        start = time.process_time()
        blocks = (sound[at : at + _BLOCK] for at in range(0, len(sound), _BLOCK))
        glances = [glance for block in blocks for glance in listener.hear(block)]
        spent += time.process_time() - start
        firsts += [glance.at_s - _REST_S for glance in glances if glance.hz][:1]
        stood = [glance for glance in glances if glance.settled and glance.hz][:1]
        settled += [glance.at_s - _REST_S for glance in stood]
        errors += [1200 * np.log2((glance.hz or 1) / made.hz) for glance in stood]
    core = spent / (tones * (_REST_S + _NOTE_S))
    late = float(np.percentile(settled, 95))
    met = late <= SETTLED_GOAL_S and core <= CORE_GOAL and len(settled) == tones
    print(
        f"\nLive, {tones} notes: first reading after {1000 * np.median(firsts):.0f} ms,"
        f" settled after {np.median(settled):.2f} s (95 in 100: {late:.2f} s),"
        f" {len(settled)} settled, off by {np.sqrt(np.mean(np.square(errors))):.3f} cents RMS,"
        f" {core:.3f} of a core; goals {SETTLED_GOAL_S} s and {CORE_GOAL}:"
        f" {'met' if met else 'NOT met'}",
        flush=True,
    )


if __name__ == "__main__":
    main()
