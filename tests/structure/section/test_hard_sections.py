"""Sections that can show little: one plain sentence on the sheet and in the terminal, and the rest is still drawn."""

import re
from dataclasses import replace

import pytest
from shapely import Point, Polygon

from tests.sheet.pages import paths, words
from tests.thorough import some
from traverse.__main__ import main
from traverse.compile import blank_ground, map_ground, section_ground
from traverse.sheet.compose.alone import section_document
from traverse.sheet.compose.compose import compose
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.page import Group
from traverse.sheet.paper.style import PENS
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.template.reading import read_template

HEAD = """notation 1
traverse Hollow Beck
bearings true
attitudes dip-direction
unit Cc Upper Marl ; Upper Jurassic
unit Bb Middle Limestone ; Middle Jurassic
unit Aa Lower Shale ; Lower Jurassic
control 0 1000 E 1000 N 100 m
at 0
"""
WALK = """unit Aa
bed {}
to 1 080 150m +4
along 60m
contact Bb/Aa certain
at 1
unit Bb
bed {}
to 2 100 150m -3
along 80m
contact Cc/Bb certain
at 2
unit Cc
bed {}
to 3 095 120m +2
at 3
unit Cc
bed {}
"""
ACROSS = "section A-A' from 0 to 3"
BARE = re.sub(r"bed \{\}\n", "", WALK)


def walk(*beds):
    return WALK.format(*(beds or ("090/30",) * 4))


LINE = "".join(f"to {at} 090 100m level\ncontact Bb/Aa certain\n" for at in (1, 2, 3))

# What the log is, and what is said of it; at `check` in the terminal and on the sheet.
CASES = {
    "misses every station": (
        walk() + "to 4 000 400m level\nto 5 000 200m level\nsection A-A' from 4 to 5",
        "Section A–A′ meets no bed and no contact: lay it across the walk.",
    ),
    "misses the walk by far": (
        walk() + "side 9 090 900m level\nsection A-A' 000 through 9",
        "All on section A–A′ was carried 900 m or more, over half its length: lay it nearer the walk, or longer.",
    ),
    "along the strike": (
        walk("090/30", "092/35", "088/32", "095/30") + "section A-A' 005 through 1",
        "Section A–A′ runs 4° off the strike, so apparent dips and thicknesses mislead: lay it across, near 091°.",
    ),
    "along the strike, carried along it": (
        walk("090/30", "092/35", "088/32", "095/30") + "section A-A' 005 through 1, project strike",
        "Section A–A′ runs 4° off the strike, so readings are carried square and dips mislead: lay it across, near 091°.",
    ),
    "one reading": (
        BARE.replace("at 1\n", "at 1\nbed 090/30\n") + ACROSS,
        (
            "One bed lies on section A–A′, so its contacts are one straight panel: measure another, to see whether the dip "
            "changes."
        ),
    ),
    "no reading": (
        BARE + ACROSS,
        "No bed lies on section A–A′, so no contact is carried into the ground: measure one beside a contact.",
    ),
    "nothing booked": (
        "to 1 090 100m +2\nto 2 080 100m -2\n" + "section A-A' from 0 to 2",
        "No bed and no contact was booked, so section A–A′ shows the ground alone: book them where rock is seen.",
    ),
    "vertical beds": (
        walk(*["090/90"] * 4) + ACROSS,
        (
            "All beds on section A–A′ stand upright, so its contacts go straight down: look for way-up, which tells the younger "
            "side."
        ),
    ),
    "flat beds": (
        walk(*["flat"] * 4) + ACROSS,
        (
            "All beds on section A–A′ lie flat, though its contacts and units were not met at heights that level beds have: take "
            "heights with care, since thickness rests on them alone."
        ),
    ),
    "bends that double back": (
        walk() + "section A-A' from 0 via 3 to 1",
        "Section A–A′ doubles back at station 3 and shows that ground twice: end it there, and draw another beyond.",
    ),
    "three points on a line": (
        "unit Bb\nbed 090/30\n" + LINE + ACROSS,
        (
            "Bb/Aa was met at 3 places on one line, so its strike and dip stay open: a place beside that line, or its own strike and "
            "dip, would tell how it lies."
        ),
    ),
    "three points on a line and no bed": (
        "unit Bb\n" + LINE + ACROSS,
        (
            "Bb/Aa was met at 3 places on one line, so its strike and dip stay open: a place beside that line, or its own strike and "
            "dip, would tell how it lies."
        ),
    ),
    "a unit named once": (
        walk().replace("at 3\nunit Cc", "at 3\nunit Bb") + ACROSS,
        "Cc is followed by Bb between 2 and 3 with no contact; drawn half-way",
    ),
    "no heights": (
        re.sub(r" [+-]\d\n", "\n", walk()) + ACROSS,
        "No heights were measured, so section A–A′ is drawn on a level line: book slopes, up “+”, down “-”.",
    ),
    "lines that come out again": (
        walk("090/20", "090/70", "270/60", "270/20") + ACROSS,
        "Cc/Bb comes out of the ground again where it was not met: look there, or measure more beds between.",
    ),
}


def said(text):
    return " ".join(text.replace("\u00a0", " ").split()).replace("‑", "-").lower()


def sheet_of(compiled, **options):
    return compose(
        map_ground(compiled.trav),
        compiled.diagnostics,
        template=read_template("field").value,
        mark="000000",
        **options,
    ).value


@pytest.fixture
def page(tmp_path):
    def write(text):
        log = tmp_path / "page.trav"
        log.write_text(HEAD + text + "\n", encoding="utf-8")
        return log

    return write


def test_slopes_that_have_no_height_to_count_from_are_told_so_and_a_height_mends_it(compile_text):
    def limits(text):
        (section,) = compile_text(text).trav.geology.sections
        return [one.sentence for one in section.limits if one.code == "section-level"]

    text = (HEAD + walk() + ACROSS + "\n").replace("N 100 m", "N")
    (told,) = limits(text)
    assert told == (
        "Slopes were read from no known height, so section A–A′ is drawn on a level line: type "
        "`elevation HEIGHT m map` at a station."
    )
    assert limits(text.replace("at 0\n", "at 0\nelevation 640 m map\n")) == []


@pytest.mark.parametrize("case", CASES)
def test_it_is_said_once_in_the_terminal(page, capsys, case):
    text, sentence = CASES[case]
    assert main(["check", str(page(text))]) == 0
    printed = capsys.readouterr()
    # A warning stands on stderr with its hint apart, and once more in tomorrow's list; else it stands with the structure.
    fact = said(sentence).split(": ")[0]
    structure = printed.out.partition("\nReadings to check")[0]
    assert said(printed.err).count(fact) + said(structure).count(fact) == 1
    assert "Traceback" not in printed.err


@pytest.mark.every(2)
@pytest.mark.parametrize("case", some(CASES, 2))
def test_it_is_said_on_the_sheet_and_the_ground_is_drawn(compile_text, case):
    text, sentence = CASES[case]
    compiled = compile_text(HEAD + text + "\n")
    document = sheet_of(compiled)
    told = said(" ".join(words(page.items) for page in document.pages))
    # Where the line under the section is too short for it, the advice stands with the report alone.
    assert said(sentence.partition(": ")[0]).rstrip(".") in told
    if said(sentence).rstrip(".") not in told:
        whole = sheet_of(compiled, report=True)
        assert said(sentence).rstrip(".") in said(" ".join(words(page.items) for page in whole.pages))
    first = paths(document.pages[0].items)
    ground = PENS["level unknown" if case == "no heights" else "ground profile"]
    assert any(one.pen == ground for one in first)


@pytest.mark.every(2)
@pytest.mark.parametrize("case", some(CASES, 5))
def test_every_command_makes_its_drawing(page, capsys, case):
    log = page(CASES[case][0])
    for options in ((), ("--arcs",)):
        assert main(["section", str(log), *options]) == 0
        made = log.with_name("page-section.pdf")
        assert made.stat().st_size > 1000
        made.unlink()
    assert main(["sheet", str(log)]) == 0
    beds = "bed" in CASES[case][0]
    assert main(["net", str(log)]) == (0 if beds else 1)
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("beds", "sentence"),
    [
        # The normals of the third and fourth bed meet between them.
        (
            ("090/20", "090/50", "090/80", "270/70 overturned"),
            "Bb/Aa and Cc/Bb: no room for arcs of constant thickness in the core, which straight limbs close there. Measure beds nearer to the hinge.",
        ),
    ],
)
def test_arcs_that_cross_are_said_where_arcs_are_drawn(compile_text, page, capsys, beds, sentence):
    text = walk(*beds) + ACROSS
    assert main(["section", "--arcs", str(page(text))]) == 0
    assert sentence in capsys.readouterr().err
    compiled = compile_text(HEAD + text + "\n")
    section = compiled.geology.sections[0]
    assert sentence in section.arcs.sentences
    assert sentence not in section.construction.sentences
    geology = replace(compiled.geology, sections=(replace(section, construction=section.arcs),))
    (alone,) = section_document(section_ground(replace(compiled.trav, geology=geology)), mark="000000").pages
    assert said(sentence) in said(words(alone.items))
    assert any(one.pen == PENS["ground profile"] for one in paths(alone.items))


@pytest.mark.parametrize(
    "case", ["flat beds", "lines that come out again", "vertical beds", "one reading", "no reading"]
)
def test_the_ground_has_the_colour_of_what_was_seen_on_it(compile_text, case):
    """Even where the lines carried from the readings would have it otherwise."""
    compiled = compile_text(HEAD + CASES[case][0] + "\n")
    section = compiled.geology.sections[0]
    (page,) = section_document(section_ground(compiled.trav), mark="000000").pages
    styles = unit_styles(compiled.log.units)
    panel = next(one for one in page.items if isinstance(one, Group) and one.layer == "section")
    pens = {PENS["ground profile"], PENS["ground guessed"]}
    ground = [one for one in paths(panel.items) if one.pen in pens and len(one.commands) > 2]
    filled = [
        (one.fill, Polygon([command[1:] for command in one.commands if command[0] != "Z"]).buffer(0.0))
        for one in paths(panel.items)
        if one.fill in {style.colour for style in styles.values()}
    ]
    points = sorted({command[1:] for one in ground for command in one.commands})
    for (x, y), seen in list(zip(points, section.profile, strict=True))[6:-6:6]:
        under = Point(x, y - 0.4)
        near = [one for one in section.points if one.contact and abs(one.distance_m - seen.distance_m) < 12.0]
        if not near:
            assert styles[seen.unit].colour in [colour for colour, area in filled if area.contains(under)]


def test_a_section_that_nobody_asked_for_is_not_warned_of(compile_text):
    compiled = compile_text(HEAD + BARE + "\n")
    assert compiled.geology.sections[0].limits
    assert not [one for one in compiled.diagnostics if one.code.startswith("section-")]


def test_without_a_bed_contacts_go_no_deeper_than_the_ground_was_looked_at(compile_text):
    compiled = compile_text(HEAD + CASES["no reading"][0] + "\n")
    (page,) = section_document(section_ground(compiled.trav), mark="000000").pages
    told = words(page.items)
    assert "contacts drawn upright where they were met; colour " in told
    assert "lines to" not in told
    drawn = [one for one in paths(page.items) if one.pen == PENS["contact in section"]]
    assert drawn
    assert not [one for one in paths(page.items) if one.pen == PENS["section depth"]]


@pytest.mark.every(2)
@pytest.mark.parametrize(
    "case", ["along the strike", "vertical beds", "flat beds", "lines that come out again"]
)
def test_a_blank_tells_nothing_of_it(compile_text, case):
    text, sentence = CASES[case]
    compiled = compile_text(HEAD + text + "\n")
    blank = compose_blank(
        compiled.trav,
        lay=blank_ground,
        template=read_template("field").value,
        mark="000000",
    ).value
    told = said(" ".join(words(page.items) for page in blank.pages))
    assert said(sentence).split(": ")[0] not in told
    for word in ("strike, so", "upright", "lie flat", "constructed", "out of the ground"):
        assert word not in told


def test_a_warning_of_a_section_can_be_answered(compile_text):
    text = walk() + "section A-A' 000 through 1\nchecked AB the cliff runs so\n"
    compiled = compile_text(HEAD + text)
    (one,) = [one for one in compiled.diagnostics if one.code == "strike-along-section"]
    assert one.kind == "answered"


@pytest.mark.parametrize("rule", ["dip-right", "dip-left"])
def test_upright_beds_read_to_either_side_are_one_panel(compile_text, rule):
    """Read at 86° to 88° to the east and to the west, within their errors of upright: no fold, no axial surface, and
    contacts go straight down."""
    text = f"notation 1\nbearings true\nattitudes {rule}\nunit Bb Upper ;\nunit Aa Slate ;\nat 1\nunit Aa\nbed 330/86\n"
    text += "to 2 060 40m level\nalong 25m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 150/87\nto 3 060 40m level\nunit Bb\n"
    text += "bed 331/88\nto 4 060 40m level\nunit Bb\nbed 147/85\n"
    (section,) = compile_text(text).geology.sections
    assert not any("axial" in one for one in section.construction.sentences)
    assert section.construction.axial == ()
    (line,) = section.construction.lines
    assert len(line.pieces) == 2
    points = [point for piece in line.pieces for point in piece.points]
    assert max(x for x, _ in points) - min(x for x, _ in points) < 0.05 * (
        max(y for _, y in points) - min(y for _, y in points)
    )
