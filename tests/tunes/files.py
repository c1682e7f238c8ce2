"""Small files of music for tests, written by hand."""

import io
import zipfile

import mido

ABC = b"X:1\nT:Sound\nK:C\nCDE\n"
XML_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
CONTAINER = '<container><rootfiles><rootfile full-path="s.xml"/></rootfiles></container>'


def note(step, octave=4, duration=1, more="", voice="1", alter=""):
    pitch = f"<step>{step}</step>{alter}<octave>{octave}</octave>"
    return (
        f"<note>{more}<pitch>{pitch}</pitch><duration>{duration}</duration>"
        f"<voice>{voice}</voice></note>"
    )


def score(*measures, attributes="<divisions>1</divisions>"):
    body = "".join(f"<measure>{m}</measure>" for m in measures)
    body = body.replace("<measure>", f"<measure><attributes>{attributes}</attributes>", 1)
    return (
        f"{XML_HEAD}<score-partwise><work><work-title>Air</work-title></work>"
        f'<part id="P1">{body}</part></score-partwise>'
    ).encode()


def midi_bytes(*tracks, beat=480):
    file = mido.MidiFile(ticks_per_beat=beat)
    for messages in tracks:
        file.tracks.append(mido.MidiTrack(messages))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def on(midi, time=0, channel=0, velocity=64):
    return mido.Message("note_on", note=midi, time=time, channel=channel, velocity=velocity)


def zipped(**members):
    """Zip members named with _dot_, _in_ for a slash, and META_INF for the folder so named."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as folder:
        for name, data in members.items():
            path = name.replace("_dot_", ".").replace("_in_", "/").replace("META_INF", "META-INF")
            folder.writestr(path, data)
    return out.getvalue()
