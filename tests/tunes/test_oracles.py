"""ABC as two readers hear it that are not ours.

Debian's [abc2midi] and [lytk] write MIDI, which our reader of MIDI reads: it is tried here too. The
whole collections are compared by `python -m benchmarks.readers`; `docs/readers.md` holds what came
out.
"""

import pytest
from benchmarks.collections import ALL, texts
from benchmarks.disagreements import reason
from benchmarks.oracles import alone, by_abc2midi, by_lytk, by_us, plain, verdict

#: Each a thing that [abc] says, and that all three read alike.
CORNERS = {
    "lengths": "C2 D/ E// F3/2 G/4 A7 B3/4|",
    "octaves": "C, C c c' c'' C',c', D,,|",
    "accidentals": "^F F F|F f _B =B B|__B ^^F|",
    "ties": "C-C ^c2-|c2 c [CE]-[CE] D2-|D2|",
    "slurs": "(C (D E) F) (GG)|",
    "broken rhythm": "C>D C<D C>>D C<<D C>>>D [CE]>[DF]|",
    "triplets": "(3CDE (3:2:4C2D2EF (3::2 CD E|",
    "other tuplets": "(2CD (4CDEF (6CDEFGA (5:4:5CDEFG|",
    "rests": "z2 C x D Z E|",
    "chords": "[CEG]2 [C2E2] [CE]3/2 [G,CE]|",
    "repeats": "|:C D:|:E F:|G|",
    "repeats in one": "|:C D::E F:||:G A:|",
    "a repeat from the beginning": "C D|E F:|G A:|",
    "endings": "|:C D|1 E F:|2 G A|]B|",
    "endings in brackets": "|:C D|[1 E F:|[2 G A||B|",
    "three endings": "|:C|1 D:|2 E:|3 F|]G|",
    "key": "[K:D]F [K:Gm]B [K:E phrygian ^f]F [K:D exp _b _e ^f]B E F|",
    "metre and unit": "C [L:1/4]C [M:3/4]C Z D|",
    "voices": "V:1\nC ^F|\nV:2\n(3EEE (3E|\nV:1\nF D|",
    "parts": "P:A\nC D|\nP:B\nE F|",
    "comments": "C D % E\n%F\nE\\\nF|",
    "spacers": "C y D y2 E`F|",
}
SAMPLE = 75


def tune(music, head="M:4/4\nL:1/8\nK:C"):
    return f"X:1\nT:Corner\n{head}\n{music}\n"


def heads():
    """Headers that say how the same music sounds."""
    for key in ("Bb", "F#m", "Ador", "D mix", "CLyd", "E phr", "B loc", "Cb", "C#", "Hp"):
        yield tune("CDEFGAB|", f"L:1/8\nK:{key}")
    for metre in ("2/4", "3/4", "6/8", "C", "C|", "9/8", "2+3/8"):
        yield tune("C D Z E|[M:2/4]F|", f"M:{metre}\nK:C")
    # Last: abc2midi moves the tunes that follow in a file, too.
    for clef in ("treble-8", "clef=treble+8", "bass", "octave=-1", "transpose=-2"):
        yield tune("C D|", f"L:1/8\nK:C {clef}")


@pytest.fixture(scope="module")
def sample():
    found = [each for name, text in texts(ALL) for each in alone(name, text)]
    return [plain(each.text) for each in found[::SAMPLE]]


def test_corners_of_abc_sound_alike_to_all_three():
    written = [*map(tune, CORNERS.values()), *heads()]
    for text, theirs in zip(written, by_abc2midi([plain(text) for text in written]), strict=True):
        ours = by_us(text)
        assert verdict(ours, theirs) == "same", text
        assert verdict(ours, by_lytk(plain(text))) == "same", text


def test_what_is_left_out_of_a_melody_is_left_out_by_all_three(sample):
    decorated = tune('"Am"A {cde}B !trill!c ~d .e Tf|"^text"g [r:no]a2|\nw: do re mi\nC|')
    assert by_us(decorated).notes == by_us(plain(decorated)).notes
    assert verdict(by_us(decorated), by_lytk(plain(decorated))) == "same"


def test_tunes_from_all_the_books_sound_alike_to_lytk_or_differ_for_a_known_reason(sample):
    differ = [text for text in sample if verdict(by_us(text), by_lytk(text)) != "same"]
    assert [text for text in differ if not reason(text, by_lytk)] == []
    assert len(differ) <= len(sample) // 10


def test_tunes_from_all_the_books_sound_alike_to_abc2midi_or_differ_for_a_known_reason(sample):
    read = dict(zip(sample, by_abc2midi(sample), strict=True))
    differ = [text for text, theirs in read.items() if verdict(by_us(text), theirs) != "same"]
    assert [text for text in differ if not reason(text, lambda t: by_abc2midi([t])[0])] == []
    assert len(differ) <= len(sample) // 10
