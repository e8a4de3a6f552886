"""Lines that say nothing or the same twice, figures lost among words, and a misspelt altimeter: each told once, at its line."""

import pytest

from traverse.notation.read import read_log
from traverse.source import Source

PAGE = (
    "notation 1\nbearings true\nattitudes dip-right\nunit Sh Shale ;\nat Cairn\nbed 040/30\nelevation 300 m altimeter\n"
    "to 2 090 80m\nalong 20m left 5m\nnote spring\nat 2\nbed 042/31\nrock shale, grey\n"
)


def told(text):
    read = read_log(Source(name="page.trav", text=text), load=lambda _: None)
    lines = text.splitlines()
    return [(one.code, lines[one.span.line - 1]) for one in read.diagnostics if one.span is not None]


@pytest.mark.parametrize(
    ("old", "new", "code", "line"),
    [
        ("note spring\n", "", "along-empty", "along 20m left 5m"),
        ("bed 042/31\n", "bed 042/31\nbed 042/31\n", "line-twice", "bed 042/31"),
        ("rock shale, grey\n", "rock shale, grey\nrock shale, grey\n", "line-twice", "rock shale, grey"),
        ("rock shale, grey", "rock shale, dips 045/33", "reading-noted", "rock shale, dips 045/33"),
        ("note spring", "note joints N35E/63NW here", "reading-noted", "note joints N35E/63NW here"),
        # As read at another station, which isn't the leg's next.
        (
            "rock shale, grey\n",
            "rock shale\nto 3 090 80m\nat 3\nrock shale, 040/30\n",
            "reading-noted",
            "rock shale, 040/30",
        ),
        ("altimeter", "altimter", "source-spelling", "elevation 300 m altimter"),
    ],
)
def test_what_was_lost_is_told_at_its_line(old, new, code, line):
    assert not {"along-empty", "line-twice", "reading-noted"} & {one for one, _ in told(PAGE)}
    assert (code, line) in told(PAGE.replace(old, new))


@pytest.mark.parametrize(
    "words",
    [
        "shale, dips 042/31 as booked",
        "path 120/30 m wide",
        "see sheet 104/12",
        "bags 101/12, 102/13",
        "12/2026",
    ],
)
def test_other_figures_among_words_are_left_alone(words):
    assert "reading-noted" not in {one for one, _ in told(PAGE.replace("shale, grey", words))}


def test_two_beds_at_one_place_are_two():
    apart = PAGE.replace("bed 042/31\n", "bed 042/31\nbed 043/31\n")
    assert "line-twice" not in {one for one, _ in told(apart)}


def test_an_along_that_lost_its_contact_is_named_before_the_contact_after_it(compile_text):
    page = (
        "notation 1\nbearings true\nattitudes dip-right\nunit Yo Marl ;\nunit Mi Lime ;\nunit Ol Sand ;\n"
        "unit Dl Dike ; intrusive\nat 1\nunit Mi\nto 2 090 80m\nalong 16m\nalong 33m\ncontact Dl/Ol certain\n"
        "along 48m\ncontact Dl/Ol certain\nat 2\nunit Ol\n"
    )
    (one,) = [one for one in compile_text(page).diagnostics if one.kind == "warning"]
    assert one.hints[0].startswith("is the contact missing that was met `along 16m` (line 11)")
    # Or before what is missing at the station beyond another contact: here the other wall.
    lost = page.replace("unit Mi\nto", "unit Ol\nto").replace("along 16m\n", "")
    lost = lost.replace("along 33m\ncontact Dl/Ol certain\n", "along 33m\n")
    (one,) = [one for one in compile_text(lost).diagnostics if one.code == "contact-missing"]
    assert "is the contact missing that was met `along 33m` (line 11)" in one.hints[0]


def test_an_along_that_lost_its_contact_to_the_station_after_it():
    page = PAGE.replace("bearings true\n", "bearings true\nunit Tu Tuff ;\n")
    moved = page.replace("note spring\n", "").replace("at 2\n", "at 2\ncontact Sh/Tu certain\n")
    read = read_log(Source(name="page.trav", text=moved), load=lambda _: None)
    (one,) = [one for one in read.diagnostics if one.code == "along-empty"]
    assert (one.kind, one.hints[0][:30]) == ("warning", "was Sh/Tu met here: then line ")


def test_covered_ground_without_a_contact_is_named_where_one_is_missing(compile_text):
    page = (
        "notation 1\nbearings true\nattitudes dip-right\nunit Yo Marl ;\nunit Ol Sand ;\nat 1\nunit Ol\nto 2 090 80m\n"
        "covered 20m to 40m peat\nat 2\nunit Yo\n"
    )
    (one,) = [one for one in compile_text(page).diagnostics if one.code == "contact-missing"]
    assert one.hints[0].startswith(
        "does it belong below `covered 20m to 40m` (line 9), where no contact is booked"
    )
