"""Whoever has much read hears of every tune that is begun, and can stop there."""

import io

import mido
import pytest

from combwright.tunes.opening import read_tune_bytes
from combwright.tunes.pace import told_of_each

TWO = b"X:1\nT:One\nK:C\nC\n\nX:2\nT:Two\nK:C\nz\n"
XML = b"<score-partwise><part id='P1'/></score-partwise>"


class Enough(BaseException):
    pass


def midi():
    written = io.BytesIO()
    mido.MidiFile().save(file=written)
    return written.getvalue()


@pytest.mark.parametrize(("data", "tunes"), [(TWO, 2), (XML, 1), (midi(), 1), (b"no music", 0)])
def test_every_tune_is_told_of_whether_it_can_be_read_or_not(data, tunes):
    told = []
    with told_of_each(lambda: told.append(1)):
        read_tune_bytes(data, "a file")
    read_tune_bytes(data, "a file")
    assert len(told) == tunes


def test_reading_stops_where_it_is_told_to():
    def enough():
        raise Enough

    with pytest.raises(Enough), told_of_each(enough):
        read_tune_bytes(TWO, "a file")
