"""What the tests of repertoires begin with: tunes of our own, and a repertoire or two."""

import io
import zipfile

from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from combwright.shop.repertoire import actions, intake_actions
from combwright.shop.repertoire.models import Intake, Repertoire
from combwright.tunes.opening import read_tune_bytes
from shop.jobs.hands import somebody

UP = "X:1\nT:Upstairs\nM:4/4\nL:1/4\nK:C\nCDEF|GABc|\n"
DOWN = "X:2\nT:Downstairs\nM:4/4\nL:1/4\nK:C\ncBAG|FEDC|\n"
HOLLOW = "X:3\nT:Hollow\nM:4/4\nL:1/4\nK:C\nz4|\n"


def many(count, first=1):
    """Return so many tunes of ABC, no two of the same notes."""
    notes = "CDEFGABc"
    tunes = []
    for n in range(first, first + count):
        digits = [notes[(n // 8**place) % 8] for place in range(4)]
        tunes.append(f"X:{n}\nT:Number {n}\nM:4/4\nL:1/4\nK:C\n{''.join(digits)}|C2D2|\n")
    return "\n".join(tunes)


def a_repertoire(name="Evenings", abc="", **facts):
    made = actions.make(somebody(), {"name": name, **facts})
    if abc:
        actions.add_tunes(made, somebody(), read_tune_bytes(abc.encode(), "book.abc").tunes)
    return again(made)


def again(repertoire):
    return Repertoire.objects.get(pk=repertoire.pk)


def titles(repertoire):
    return list(repertoire.melodies.order_by("place").values_list("title", flat=True))


def kept(repertoire, abc=UP + "\n" + DOWN, person=None):
    """Return an intake of a file that somebody looks at."""
    return intake_actions.keep(person or somebody(), repertoire, [("book.abc", abc.encode())])


def zipped(**files):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as folder:
        for name, text in files.items():
            folder.writestr(f"{name}.abc", text)
    return packed.getvalue()


def send(client, repertoire, *files, abc=""):
    sent = [SimpleUploadedFile(n, d if isinstance(d, bytes) else d.encode()) for n, d in files]
    return client.post(reverse("repertoire:load", args=[repertoire.pk]), {"sent": sent, "abc": abc})


def the_intake():
    return Intake.objects.latest("pk")


def page_of(intake):
    return reverse("repertoire:intake", args=[intake.pk])


def ticks(intake, *titles, do="take", page=1):
    """Return what a page of ticks sends with these ticked."""
    shown = list(intake.found.order_by("place")[(page - 1) * 50 : page * 50])
    return {
        "seen": [each.pk for each in shown],
        "tune": [each.pk for each in shown if each.title in titles],
        "page": page,
        "do": do,
    }
