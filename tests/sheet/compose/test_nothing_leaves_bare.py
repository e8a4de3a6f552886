"""Every page that leaves the program says what it is not for, what is dangerous, whose it is and in which grid."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import pikepdf
import pytest

from tests import once
from tests.sheet.pages import flat, words
from tests.thorough import each, some
from traverse.compile import net_density, section_ground
from traverse.output.pdf import write_pdf
from traverse.sheet.compose.alone import net_document, section_document
from traverse.sheet.paper.page import Text
from traverse.sheet.paper.words import dates
from traverse.sheet.said.cautions import hazard_sentences, hazards_closing
from traverse.sheet.said.sentences import HAZARDS as LOCAL_RULES
from traverse.sheet.said.sentences import NOT_ADJUSTED, SKETCH

ROOT = Path(__file__).parent.parent.parent.parent
LOGS = {
    one.stem: one
    for one in (
        *sorted((ROOT / "samples").rglob("*.trav")),
        ROOT / "tests" / "reference" / "logs" / "loop-that-fails.trav",
        *(
            ROOT / "tests" / "reference" / "logs" / f"{name}.trav"
            for name in ("no-units", "local-attraction", "long-ridge", "plateau", "many-units")
        ),
    )
}
_ELSEWHERE = r"hazards? (noted, whole on sheet \d+|on a later sheet)|Hazards that were noticed stand on the sheet below"
KINDS = ("key", "grey", "blank")
EXAMPLE = "templates/example.toml"
TEMPLATES = ("field", "wall", "insert", "section", "table", "signs", EXAMPLE)
WAYS = some(
    product(LOGS, TEMPLATES),
    [
        ("copperjar-wash", "field"),
        ("oskerra-valley", "signs"),
        ("ternel-point", "wall"),
        ("ternel-point", "insert"),
        ("no-units", EXAMPLE),
        ("loop-that-fails", "field"),
        ("local-attraction", "section"),
        ("long-ridge", "signs"),
        ("plateau", "table"),
        ("many-units", "table"),
    ],
)
"""Each log once, the largest where least is drawn; each template once."""
CARRIED = ("field", "insert", EXAMPLE)
"""Templates whose sheets go out with a party: they have lines to fill in where the log says nothing of an emergency."""
USUALLY_CARRIED = [
    ("copperjar-wash", "field"),
    ("ternel-point", "insert"),
    ("no-units", EXAMPLE),
]
"""One on each template, as other tests draw them."""
EMERGENCY = "emergency call 0000 11 22, then mountain rescue\nemergency meet the sluice below the mill\n"
HAZARDS = "\n".join(
    f"  hazard place {n}: loose blocks over the path, and an old shaft beside it" for n in range(40)
)


@cache
def changed(name, extra, line, before):
    """The text of a log with more at its end or in its heading, or with another line for its sheet; None as it is."""
    if not (extra or line or before):
        return None
    path = LOGS[name]
    text = path.read_text(encoding="utf-8") + extra
    text = re.sub(r"^(bearings .*)$", rf"{before}\1", text, count=1, flags=re.MULTILINE)
    if line:
        kept = [one for one in text.splitlines() if not one.startswith("sheet ")]
        text = "\n".join([*kept, line, ""])
    return text


def compiled(name, extra="", line="", before=""):
    found = once.compiled(LOGS[name], changed(name, extra, line, before))
    assert not found.failed, [one.message for one in found.diagnostics]
    return found


def document(name, kind, template, extra="", line="", before=""):
    compiled(name, extra, line, before)
    return once.drawn(LOGS[name], kind, template, changed(name, extra, line, before))


def alone(name):
    trav = compiled(name).trav
    yield section_document(section_ground(trav), mark="abc123")
    yield net_document(replace(trav, geology=net_density(trav.geology)), mark="abc123")


def missing(page, trav, *, blank=False):
    """What must stand on a page and does not."""
    said = re.sub(r"\s+", " ", words(page.items))
    wanted = [SKETCH, "local rules and the leader’s risk assessment come first"]
    elsewhere = re.search(_ELSEWHERE, said)
    hazards = [one.replace("\u00a0", " ") for one in hazard_sentences(trav.log)]
    closing = hazards_closing(trav.log).removesuffix(LOCAL_RULES).strip().replace("\u00a0", " ")
    wanted += [] if elsewhere else [*hazards, closing]
    # Pages come apart, so each says which walk it is of; the place may stand larger than the day.
    wanted += (
        [] if page.title == "Signs" else [(trav.log.heading.title or "").partition(",")[0].partition(":")[0]]
    )
    frame = trav.survey.frame
    wanted.append(f"EPSG:{frame.epsg}" if frame.epsg is not None else frame.name)
    if blank:
        wanted += ["Date ___", "Names ___"]
    else:
        wanted += [dates(day.date for day in trav.log.heading.days)]
        wanted += [] if trav.log.heading.days or trav.log.heading.party else ["Date and party not stated"]
        for person in trav.log.heading.party:
            wanted += [] if person.name and person.name in said else [person.initials]
        wanted += [] if trav.survey.adjusted else [NOT_ADJUSTED]
    found = [one for one in wanted if one not in said]
    if NOT_ADJUSTED in said and (blank or trav.survey.adjusted):
        found.append(f"not {NOT_ADJUSTED}")
    return found


@pytest.mark.every(2)
@pytest.mark.parametrize(("name", "template"), WAYS)
def test_every_page_of_every_sheet_carries_its_cautions(name, template):
    for kind in KINDS:
        for number, page in enumerate(document(name, kind, template).pages, start=1):
            assert missing(page, compiled(name).trav, blank=kind == "blank") == [], (kind, number)


@pytest.mark.parametrize(("name", "template"), some(product(LOGS, CARRIED), USUALLY_CARRIED))
def test_what_is_carried_has_whom_to_call_and_when_to_turn_back(name, template):
    """Printed, or as lines to fill in before going out; on the handout too."""
    for kind in KINDS:
        said = " ".join(words(page.items) for page in document(name, kind, template).pages)
        for line in ("Emergency number", "Meeting point", "Turn back by"):
            assert line in said, (kind, line)


@pytest.mark.parametrize(("template", "kind"), each(TEMPLATES, KINDS))
def test_what_is_said_for_an_emergency_stands_on_every_template(template, kind):
    """Whichever sheet lies at hand, the number is on it."""
    pages = [
        re.sub(r"\s+", " ", words(page.items))
        for page in document("ternel-point", kind, template, before=EMERGENCY).pages
    ]
    assert all("0000 11 22" in one for one in pages)
    # A narrow strip on sheet 1 may end with where the rest stands.
    whole = [one for one in pages if "then mountain rescue" in one and "the sluice below the mill" in one]
    assert whole
    assert all(one in whole or "sheet 2" in one for one in pages)


@pytest.mark.every(2)
@pytest.mark.parametrize("name", some(LOGS, 2))
def test_a_section_and_a_net_alone_carry_them_too(name):
    for drawn in alone(name):
        for page in drawn.pages if drawn is not None else ():
            assert missing(page, compiled(name).trav) == []


@pytest.mark.parametrize("name", some(LOGS, ["copperjar-wash", "oskerra-valley", "ternel-point", "no-units"]))
def test_an_overlay_carries_them_on_its_film(name):
    found = compiled(name)
    drawn = once.drawn(LOGS[name], "film")
    assert drawn.pages
    for page in drawn.pages:
        assert missing(page, found.trav) == []


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("name", "paper", "kind"),
    some(
        product(
            ("oskerra-valley", "ternel-point"),
            ("A3 landscape", "A5 portrait", "Letter portrait", "A0"),
            KINDS,
        ),
        [
            # The one with most words where there is least room.
            ("oskerra-valley", "A5 portrait", "key"),
            ("ternel-point", "A3 landscape", "key"),
            ("ternel-point", "Letter portrait", "blank"),
            ("ternel-point", "A0", "grey"),
        ],
    ),
)
def test_papers_of_other_sizes_carry_them_whole(name, paper, kind):
    for page in document(name, kind, "field", line=f"sheet paper {paper}").pages:
        assert missing(page, compiled(name).trav, blank=kind == "blank") == []


def test_every_map_of_several_carries_them():
    found = document("ternel-point", "key", "field", line="sheet scale 1:200")
    maps = [page for page in found.pages if re.match(r"Map \d", page.title or "")]
    assert len(maps) > 1
    for page in maps:
        assert missing(page, compiled("ternel-point").trav) == []
        assert "Ternel Point" in words(page.items)


@pytest.mark.every(2)
@pytest.mark.parametrize("template", ["field", "table", "insert"])
def test_hazards_too_many_for_a_foot_have_a_page_and_every_page_says_which(template):
    extra = f"\n{HAZARDS}\n"
    found = document("ternel-point", "key", template, extra=extra)
    trav = compiled("ternel-point", extra=extra).trav
    for page in found.pages:
        assert missing(page, trav) == []
    sheets = {int(n) for page in found.pages for n in re.findall(r"whole on sheet (\d+)", words(page.items))}
    (sheet,) = sheets
    assert "Hazards noticed, in full" in words(found.pages[sheet - 1].items)
    whole = re.sub(r"\s+", " ", " ".join(words(page.items) for page in found.pages))
    assert all(one.replace("\u00a0", " ") in whole for one in hazard_sentences(trav.log))


@pytest.mark.every(2)
@pytest.mark.parametrize(("name", "template"), [*WAYS, *some([(name, None) for name in LOGS], 3)])
def test_every_file_passes_the_check_of_qpdf(name, template):
    """An independent reader of the format, as the library pikepdf carries it: no errors and no warnings."""
    drawn = alone(name) if template is None else [document(name, kind, template) for kind in KINDS]
    for one in drawn:
        if one is not None:
            with pikepdf.open(io.BytesIO(write_pdf(one))) as file:
                assert file.check_pdf_syntax() == []


def test_the_check_of_qpdf_finds_a_damaged_file():
    found = document("oskerra-valley", "key", "field")
    damaged = write_pdf(found).replace(b"startxref", b"startxrfe")
    with pikepdf.open(io.BytesIO(damaged)) as file:
        assert file.check_pdf_syntax() != []


def luminance(colour):
    """Relative luminance of `#rrggbb`, as the guideline defines it."""
    parts = [int(colour[index : index + 2], 16) / 255.0 for index in (1, 3, 5)]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_of_contrast_gives_its_published_ends():
    """Web Content Accessibility Guidelines 2.1, definition of contrast ratio: 1 to 21; #767676 on white is 4.54."""
    assert contrast("#ffffff", "#ffffff") == pytest.approx(1.0)
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize(("name", "template"), WAYS)
def test_words_stand_out_from_their_ground(name, template):
    """Web Content Accessibility Guidelines 2.1, 1.4.3: 4.5 to 1 for text of these sizes; on its halo, else on paper."""
    faint = {
        (one.text, one.colour, one.halo)
        for kind in KINDS
        for page in document(name, kind, template).pages
        for one in flat(page.items)
        if isinstance(one, Text) and contrast(one.colour, one.halo or "#ffffff") < 4.5
    }
    assert faint == set()
