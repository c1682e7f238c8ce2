import re
from html.parser import HTMLParser

import pytest
from django import forms
from django.template.loader import render_to_string

from combwright.shop.look.examples import ExampleForm, example_forms, filter_form, some_page

VOID = {"input", "br", "img", "meta", "link"}


class Tags(HTMLParser):
    """All start tags of a page, as (name, attributes)."""

    def __init__(self, text):
        super().__init__()
        self.seen = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))

    def named(self, name):
        return [attrs for tag, attrs in self.seen if tag == name]

    @property
    def ids(self):
        return [attrs["id"] for _tag, attrs in self.seen if "id" in attrs]

    def control(self, name):
        (found,) = [attrs for _tag, attrs in self.seen if attrs.get("name") == name]
        return found


def form_page(form, **options):
    return render_to_string("look/_form.html", {"form": form, "submit_label": "Go", **options})


def test_every_control_has_its_label_and_no_id_stands_twice():
    tags = Tags(form_page(example_forms()["fresh"]))
    labelled = {label.get("for") for label in tags.named("label")}
    controls = [
        attrs
        for tag, attrs in tags.seen
        if tag in ("input", "select", "textarea") and attrs.get("type") != "hidden"
    ]
    assert len(controls) == 9  # eight fields, one of them two radio buttons
    assert {attrs["id"] for attrs in controls} <= labelled
    assert len(tags.ids) == len(set(tags.ids))


def test_a_fault_stands_beside_its_field_and_both_point_at_one_another():
    tags = Tags(form_page(example_forms()["wrong"]))
    bin_field = tags.control("bin")
    assert bin_field["aria-invalid"] == "true"
    assert bin_field["aria-describedby"].split() == ["wrong_bin_helptext", "wrong_bin_error"]
    assert {"wrong_bin_helptext", "wrong_bin_error", "wrong_mount_error"} <= set(tags.ids)
    assert "aria-invalid" not in tags.control("reason")


def test_everything_that_describes_a_field_is_on_the_page():
    for form in example_forms().values():
        tags = Tags(form_page(form))
        described = [attrs.get("aria-describedby") or "" for _tag, attrs in tags.seen]
        assert {each for ids in described for each in ids.split()} <= set(tags.ids)


def test_the_summary_links_to_every_faulty_field_and_takes_the_focus():
    text = form_page(example_forms()["wrong"])
    tags = Tags(text)
    links = [a["href"] for a in tags.named("a")]
    assert links == ["#wrong_bin", "#wrong_plates", "#wrong_slot", "#wrong_mount"]
    assert {link[1:] for link in links} <= set(tags.ids)
    assert "<li>Bin A-12 holds 2 plates; 3 cannot be taken from it.</li>" in text
    (summary,) = [attrs for _tag, attrs in tags.seen if "autofocus" in attrs]
    assert summary["aria-labelledby"] in tags.ids


def test_what_was_typed_is_kept():
    tags = Tags(form_page(example_forms()["wrong"]))
    assert tags.control("plates")["value"] == "-3"
    assert tags.control("slot")["value"] == "16.0000000001"


def test_what_was_typed_and_what_it_says_is_escaped():
    form = ExampleForm({"bin": '"><script>alert(1)</script>', "batch": "<b>"}, auto_id="id_%s")
    assert "<script" not in form_page(form)
    assert "<b>" not in form_page(form)


def test_a_form_that_opens_has_no_summary_and_names_what_may_stay_empty():
    text = form_page(example_forms()["fresh"])
    assert "mend" not in text
    assert text.count("(may stay empty)") == 3  # a list, a reason, a batch; a tick needs no word


def test_there_is_one_button_and_its_danger_is_a_word_and_a_shape():
    plain, danger = (
        re.findall(r'<button class="([^"]+)">(.*?)</button>', form_page(forms.Form(), **more))
        for more in ({}, {"danger": True, "submit_label": "Scrap 3 plates"})
    )
    assert plain == [("button next", "Go")]
    assert danger == [("button danger", "Scrap 3 plates")]


def test_a_form_with_a_file_is_sent_in_parts_and_one_that_only_reads_carries_no_token():
    (form,) = Tags(form_page(example_forms()["fresh"])).named("form")
    assert form["enctype"] == "multipart/form-data"
    (form,) = Tags(form_page(filter_form(), method="get")).named("form")
    assert "enctype" not in form
    assert form["method"] == "get"


def test_a_filter_marks_no_field_and_renews_its_list_only_where_that_is_named():
    context = {"form": filter_form(), "submit_label": "Show"}
    text = render_to_string("look/_filter.html", context)
    assert "may stay empty" not in text
    assert "hx-get" not in text
    renewed = render_to_string("look/_filter.html", {**context, "found": "bins"})
    assert 'hx-target="#bins"' in renewed


def pager(number, rf, address="/rack/bins/?note=F%234&page=4"):
    context = {"page": some_page(number)}
    return Tags(render_to_string("look/_pager.html", context, request=rf.get(address)))


def test_a_pager_keeps_what_was_asked_and_leads_back_and_on(rf):
    links = pager("4", rf).named("a")
    assert all("note=F%234" in link["href"] for link in links)
    at = {link.get("rel") or link["aria-label"]: link["href"] for link in links}
    assert at["prev"].endswith("page=3")
    assert at["next"].endswith("page=5")
    assert at["Page 9"].endswith("page=9")
    (now,) = [link for link in links if "aria-current" in link]
    assert now["aria-label"] == "Page 4"


@pytest.mark.parametrize(("number", "lacking"), [("1", "prev"), ("9", "next")])
def test_a_pager_ends_where_the_list_ends(rf, number, lacking):
    assert lacking not in [link.get("rel") for link in pager(number, rf).named("a")]


def test_nothing_here_yet_says_what_to_do_with_one_button():
    text = render_to_string(
        "look/_empty.html",
        {"what": "No bins yet.", "todo": "Receive a set.", "url": "/x/", "label": "Receive"},
    )
    assert '<a class="button next" href="/x/">Receive</a>' in text
    assert "button" not in render_to_string("look/_empty.html", {"what": "No bins yet."})
