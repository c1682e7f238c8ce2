"""What the designs' tests begin with: people, texts of files, and a form filled in as it opens."""

import html
import re
from dataclasses import replace

from django.core.files.uploadedfile import SimpleUploadedFile

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.combs import Chamber
from combwright.comb.default_comb import default_comb
from combwright.files.combs import comb_toml
from combwright.files.layouts import layout_toml
from combwright.shop.designs import actions
from combwright.shop.designs.models import Design, DesignVersion
from combwright.shop.designs.texts import read
from combwright.shop.people.models import Person

COMB, LAYOUT, WORKSHOP = Design.COMB, Design.LAYOUT, Design.WORKSHOP


def somebody(role="owner", name=None):
    name = name or role
    known = Person.objects.filter(name=name).first()
    return known or Person.objects.join(name, name.title(), role, "a long enough password")


def short_comb(title="Short comb", *, less_mm=1.0, holes=10):
    """A comb like the shipped one, each chamber shorter."""
    chambers = tuple(
        Chamber(round(c.length_mm - less_mm, 3), c.width_mm, c.depth_mm)
        for c in (default_comb().chambers * 2)[:holes]
    )
    return replace(default_comb(), title=title, chambers=chambers)


def a_layout(title="Low drone", base="fifth-draw-raised", *, person=None, code=""):
    text = layout_toml(replace(catalogue_layout(base), title=title))
    return make(LAYOUT, text, person=person, code=code)


def a_comb(title="Short comb", *, person=None, code="", **more):
    return make(COMB, comb_toml(short_comb(title, **more)), person=person, code=code)


def make(kind, text, *, person=None, code=""):
    said = read(kind, text, name="draft.toml")
    return actions.make(person or somebody(), kind, said, what=DesignVersion.MADE, code=code)


def fields_of(form):
    found = {}
    for tag in re.findall(r"<input[^>]*>", form):
        said = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        checked = re.search(r"\bchecked\b", tag)
        if said.get("type") in ("checkbox", "radio") and not checked:
            continue
        if "name" in said and said.get("type") != "file":
            found[said["name"]] = html.unescape(said.get("value", ""))
    for name, inside in re.findall(r'<select name="([^"]+)".*?>(.*?)</select>', form, re.DOTALL):
        options = re.findall(r'<option value="([^"]*)"( selected)?', inside)
        found[name] = next((v for v, chosen in options if chosen), options[0][0])
    for name, inside in re.findall(
        r'<textarea name="([^"]+)"[^>]*>\n?(.*?)</textarea>', form, re.DOTALL
    ):
        found[name] = html.unescape(inside)
    found.pop("csrfmiddlewaretoken", None)
    return found


def opened(client, address):
    """Open a page with a form; return what its browser would send if nothing were typed."""
    page = client.get(address)
    assert page.status_code == 200, page.status_code
    text = page.content.decode()
    form = re.findall(r'<form class="form[^>]*>.*?</form>', text, re.DOTALL)[-1]
    return fields_of(form)


def a_file(text, name="mine.toml"):
    data = text if isinstance(text, bytes) else text.encode()
    return SimpleUploadedFile(name, data)


def text(response):
    """Return what a page says, without its tags."""
    bare = re.sub(r"<[^>]*>", " ", response.content.decode())
    return " ".join(html.unescape(bare).split())
