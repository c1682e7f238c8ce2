"""Our readers of tunes against others': what each hears, and how fast.

    python -m benchmarks.readers [--every 20]

With --every only each so-many-th tune is read. `docs/readers.md` holds the last full run, and who
is right where they differ. CPU time of this machine, the peers' own processes counted.
"""

import argparse
import io
import resource
import time
from collections import Counter
from collections.abc import Callable, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Final, TypeVar

import lytk
import mido

from benchmarks.collections import ALL, texts
from benchmarks.disagreements import reason
from benchmarks.oracles import Alone, alone, by_abc2midi, by_lytk, by_us, plain, verdict
from benchmarks.scores import by_lytk_score, first_part, parsed
from combwright.tunes.abc_tunes import read_abc
from combwright.tunes.midi_files import read_midi
from combwright.tunes.opening import read_tune_bytes
from combwright.tunes.tune import Tune

T = TypeVar("T")
#: So few of a kind are named.
_NAMED: Final = 12
_UNEXPLAINED: Final = "explained by none or two of these; in the document by name"


def main(arguments: list[str] | None = None) -> None:
    """Print what readers make of the same tunes, then how many each reads in a second."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=1, help="read each so-many-th tune alone")
    every = parser.parse_args(arguments).every
    tunes = [each for name, text in texts(ALL) for each in alone(name, text)][::every]
    plains = [plain(each.text) for each in tunes]
    ours = [by_us(text) for text in plains]
    print(f"\nABC, {len(tunes):,} tunes of the collections")
    _others("lytk", tunes, plains, ours, [by_lytk(text) for text in plains], by_lytk)
    _others("abc2midi", tunes, plains, ours, by_abc2midi(plains), lambda t: by_abc2midi([t])[0])
    files = _scores()[::every]
    _compare_scores(files)
    _speeds(files, every)


def _others(
    name: str,
    tunes: Sequence[Alone],
    plains: Sequence[str],
    ours: Sequence[Tune | None],
    theirs: Sequence[Tune | None],
    read: Callable[[str], Tune | None],
) -> None:
    kinds = [verdict(a, b) for a, b in zip(ours, theirs, strict=True)]
    _agreement(name, Counter(kinds))
    why: dict[str, list[Alone]] = {}
    for tune, text, kind in zip(tunes, plains, kinds, strict=True):
        if kind != "same":
            why.setdefault(reason(text, read) or _UNEXPLAINED, []).append(tune)
    for each, found in sorted(why.items(), key=lambda item: -len(item[1])):
        print(f"    {len(found):>4}  {each}")
        if len(found) <= _NAMED:
            print("          " + "; ".join(f"{t.title} ({t.book}, row {t.row})" for t in found))


def _agreement(name: str, kinds: "Counter[str]") -> None:
    same, times = kinds["same"], kinds["times"]
    print(
        f"  {name}: {kinds.total():,} read, {same + times:,} agree in pitches, "
        f"{same:,} in pitches and times, {kinds['not read']} not read by one of us"
    )


def _scores() -> list[Path]:
    """Return the MusicXML that music21 carries, but for scores that it may not hand on."""
    spec = find_spec("music21")
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError("music21, which carries the scores, is not installed")
    corpus = Path(spec.origin).parent / "corpus"
    return sorted([*corpus.rglob("*.mxl"), *corpus.rglob("*.xml"), *corpus.rglob("*.musicxml")])


def _compare_scores(files: Sequence[Path]) -> None:
    parts = [first_part(file.read_bytes()) for file in files]
    ours = [next(iter(read_tune_bytes(part, "score").tunes), None) for part in parts]
    alone_there = [tune for tune in ours if tune and not tune.remarks]
    kinds: dict[bool, Counter[str]] = {True: Counter(), False: Counter()}
    for part, tune in zip(parts, ours, strict=True):
        kinds[tune in alone_there][verdict(tune, by_lytk_score(part))] += 1
    print(f"MusicXML, {len(files)} scores, the first part without graces")
    _agreement("lytk, one voice", kinds[True])
    _agreement("lytk, several voices (it plays them all)", kinds[False])


def _speeds(files: Sequence[Path], every: int) -> None:
    print("Files and tunes in a second of CPU time")
    written = texts(ALL)[::every]
    count = sum(len(alone(*each)) for each in written)
    _speed("ABC, ours", count, lambda: [read_abc(text, name) for name, text in written])
    _speed("ABC, lytk", count, lambda: [_lytk_book(text) for _, text in written])
    book, text = written[-1]
    some = [plain(each.text) for each in alone(book, text)][:100]
    _speed("ABC, abc2midi", len(some), lambda: by_abc2midi(some))
    few = some[:: max(1, len(some) // 20)]
    _speed("ABC, music21", len(few), lambda: [_music21(text, "abc") for text in few])
    data = [file.read_bytes() for file in files]
    _speed("MusicXML, ours", len(data), lambda: [read_tune_bytes(each, "x") for each in data])
    _speed("MusicXML, parsed alone", len(data), lambda: [parsed(each) for each in data])
    scores = files[:: max(1, len(files) // 10)]
    _speed("MusicXML, music21", len(scores), lambda: [_music21(str(f), None) for f in scores])
    played = [lytk.to_midi_bytes(lytk.from_abc_string(text)) for text in some]
    _speed("MIDI, ours", len(played), lambda: [read_midi(each, "x") for each in played])
    _speed("MIDI, mido alone", len(played), lambda: [_mido(each) for each in played])


def _lytk_book(text: str) -> None:
    try:
        lytk.from_abc_tunes_string(text)
    except lytk.LytkError:
        return


def _music21(text: str, kind: str | None) -> None:
    from music21 import converter

    converter.parse(text, format=kind, forceSource=True)


def _mido(data: bytes) -> None:
    mido.MidiFile(file=io.BytesIO(data))


def _speed(name: str, count: int, work: Callable[[], T]) -> None:
    start = _cpu_seconds()
    work()
    took = max(_cpu_seconds() - start, 1e-6)
    print(f"  {name:<22} {count / took:>8,.0f}  ({count:,} in {took:.2f} s)")


def _cpu_seconds() -> float:
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


if __name__ == "__main__":
    main()
