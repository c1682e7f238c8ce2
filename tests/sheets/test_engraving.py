"""Staves: what the engraver plays of them is the tune, what it draws is all of it and no more."""

import base64
import io
import random
import re
import xml.etree.ElementTree as ET
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from fractions import Fraction

import mido
import pytest
import verovio
from hypothesis import given, settings
from hypothesis import strategies as st

from combwright.sheets import look
from combwright.sheets.engraving import NARROW_MM, WIDE_MM, Engraver, texts_of
from combwright.sheets.mei import metre_of, staff_of
from combwright.tunes.opening import read_tune_bytes
from combwright.tunes.tune import WHOLE, Tune, TuneNote
from sheets.test_drawing import SVG
from sheets.test_note_values import random_lengths, tune_of

ABC = (
    b"X:1\nT:Everything at once\nM:C\nL:1/8\nK:Gm\n"
    b"F|A2-(3ABc (5defga z c3-|c^f =f/b'/ (3:2:4e/f/g a b7-|b8|(3z2e2g2 ^f/g/a/>b/ G,, c'4 |]\n"
)


@pytest.fixture(scope="module")
def engraver():
    return Engraver()


@pytest.fixture
def everything():
    (tune,) = read_tune_bytes(ABC, "a.abc").tunes
    return tune


def played(staff):
    """Return what the engraver makes of a staff as MIDI: pitches, starts, lengths in quarters."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    assert toolkit.loadData(staff.mei)
    file = mido.MidiFile(file=io.BytesIO(base64.b64decode(toolkit.renderToMIDI())))
    found, sounding, now = [], {}, 0
    for message in mido.merge_tracks(file.tracks):
        now += message.time
        if message.type == "note_on" and message.velocity:
            sounding[message.note] = now
        elif message.type in ("note_on", "note_off") and message.note in sounding:
            start = sounding.pop(message.note)
            times = (each / file.ticks_per_beat for each in (start, now - start))
            found.append((message.note, *times))
    return sorted(found, key=lambda each: each[1])


def sounds_as(staff, tune, shift=0):
    # A note's end is a tick early, so that one struck again is struck; a tick is 1/120 quarter.
    wanted = [(n.midi + shift, 4 * n.start / WHOLE, 4 * n.length / WHOLE) for n in tune.notes]
    heard = played(staff)
    assert [each[0] for each in heard] == [each[0] for each in wanted]
    for (_, start, length), (_, at, lasts) in zip(heard, wanted, strict=True):
        assert start == pytest.approx(at, abs=0.03)
        assert length == pytest.approx(lasts, abs=0.03)


@pytest.mark.parametrize("shift", [0, 1, -7, 12, 24, -24])
def test_the_engraver_plays_the_tune_as_it_is_moved(everything, shift):
    staff = staff_of(everything, shift, [""] * len(everything.notes))
    assert not staff.rounded
    sounds_as(staff, everything, shift)


@settings(max_examples=25)
@given(st.integers(0, 10**9))
def test_any_lengths_in_any_bars_are_played_right_or_said_to_be_rounded(seed):
    rng = random.Random(seed)
    bars = sorted({Fraction(rng.randint(1, 80), 8) for _ in range(9)})
    tune = tune_of(random_lengths(rng), bars=bars if rng.random() < 0.7 else ())
    tune = replace(
        tune, fifths=rng.choice([None, *range(-7, 8)]), metre=rng.choice(["", "6/8", "C", "7/16"])
    )
    staff = staff_of(tune, rng.randint(-9, 9), ["4"] * len(tune.notes))
    assert staff.heads[-1] == len(tune.notes) - 1
    if staff.rounded:
        assert len(played(staff)) == len(tune.notes)
    else:
        assert [round(each[1] * 24) for each in played(staff)] == pytest.approx(
            [round(96 * note.start / WHOLE) for note in tune.notes], abs=1
        )


def test_every_note_and_every_text_is_drawn_once(engraver, everything):
    texts = [f"{n}'" for n in range(len(everything.notes))]
    staff = staff_of(everything, 0, texts)
    lines = engraver.lines(staff, "Everything")
    assert sum(line.heads for line in lines) == len(staff.heads) > len(texts)
    drawn = [text for line in lines for text in texts_of(line)]
    assert [text for text in drawn if text.endswith("'")] == texts
    assert sorted(set(drawn) - set(texts)) == ["3", "5"] or set(drawn) == set(texts)


def test_a_picture_stands_alone_and_needs_no_style_and_no_script(engraver, everything):
    staff = staff_of(everything, 0, ["<b>&\"'\x07"] * len(everything.notes))
    for line in engraver.lines(staff, "<i>Everything & more</i>\x00"):
        root = ET.fromstring(line.svg)
        names = {each.tag.removeprefix(SVG) for each in root.iter()}
        assert names <= {"svg", "title", "defs", "g", "path", "use", "rect", "text", "polygon",
                         "ellipse", "polyline"}  # fmt: skip
        assert not {"style", "onload"} & {key for each in root.iter() for key in each.attrib}
        ids = re.findall(r' id="([^"]+)"', line.svg)
        assert len(ids) == len(set(ids))
        links = {each.get("href") for each in root.iter() if each.get("href")}
        assert links <= {f"#{name}" for name in ids}
        assert root.find(f"{SVG}title").text.startswith("<i>Everything & more</i>")


def test_the_same_tune_is_drawn_the_same_by_any_engraver(engraver, everything):
    staff = staff_of(everything, 0, ["4"] * len(everything.notes))
    assert engraver.lines(staff, "a") == Engraver().lines(staff, "a")


def test_another_thread_draws_the_same(engraver, everything):
    staff = staff_of(everything, 0, [""] * len(everything.notes))
    with ThreadPoolExecutor(1) as pool:
        drawn = pool.submit(lambda: Engraver().lines(staff, "a")).result()
    assert drawn == engraver.lines(staff, "a")


def test_heads_of_notes_that_are_not_there_are_framed_wherever_they_are_tied_to(engraver):
    tune = tune_of([1, Fraction(1, 2), Fraction(1, 4)], bars=(Fraction(1, 2), 1, Fraction(3, 2)))
    staff = staff_of(tune, 0, ["?", "4", "?"])
    (line,) = engraver.lines(staff, "a", framed={0, 2})
    frames = [e for e in ET.fromstring(line.svg).iter() if e.get("class") == "not-there"]
    assert len(frames) == 3
    assert {frame.get("stroke") for frame in frames} == {look.WRONG}
    assert all(frame.get("stroke-dasharray") for frame in frames)


def test_lines_are_no_wider_than_asked_and_more_on_a_telephone(everything):
    staff = staff_of(everything, 0, ["-4''"] * len(everything.notes))
    counts = []
    for wide in (WIDE_MM, NARROW_MM):
        lines = Engraver(wide).lines(staff, "a", ground=False)
        assert max(line.width_mm for line in lines) <= wide + 0.1
        counts.append(len(lines))
    assert counts[0] < counts[1]


@pytest.mark.parametrize(
    ("text", "bar", "beam"),
    [
        ("6/8", "3/4", "3/8"), ("C", "1", "1/2"), ("C|", "1", "1/2"), ("4/4", "1", "1/2"),
        ("3/4", "3/4", "1/4"), ("2+3/8", "5/8", "1/4"), ("9/16", "9/16", "3/16"),
        ("", "0", "1/4"), ("0/4", "0", "1/4"), ("3/5", "0", "1/4"), ("six", "0", "1/4"),
    ],
)  # fmt: skip
def test_a_metre_gives_its_bar_and_what_is_beamed_together(text, bar, beam):
    found = metre_of(text)
    assert (found.bar, found.beam) == tuple(Fraction(each) * WHOLE for each in (bar, beam))


def test_eighths_are_beamed_by_the_beat_and_an_upbeat_as_the_end_of_its_bar():
    (tune,) = read_tune_bytes(b"X:1\nM:6/8\nL:1/8\nK:G\nGA|BAB deg|\n", "a.abc").tunes
    mei = ET.fromstring(staff_of(tune, 0, [""] * 8).mei)
    beams = mei.iter("{http://www.music-encoding.org/ns/mei}beam")
    assert [len(list(beam)) for beam in beams] == [2, 3, 3]


def test_the_widest_and_the_longest_notes_are_drawn(engraver):
    notes = tuple(TuneNote(midi, n * 5 * WHOLE, 5 * WHOLE) for n, midi in enumerate((0, 127, 60)))
    for line in engraver.lines(staff_of(Tune("Wide", notes, "x"), 0, ["?"] * 3), "Wide"):
        ET.fromstring(line.svg)


def test_the_engraver_says_nothing(capfd, everything):
    Engraver().lines(staff_of(everything, 0, [""] * len(everything.notes)), "a")
    assert capfd.readouterr() == ("", "")
