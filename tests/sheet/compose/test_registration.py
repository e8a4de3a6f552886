"""Key, grey key, handout and overlay lie on each other, measured in the coordinates of their PDFs."""

import io
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pikepdf
import pypdf
import pytest

from tests import once
from tests.thorough import some
from traverse.output.pdf import write_pdf

ROOT = Path(__file__).parents[3]
LOGS = {
    path.stem: path
    for path in (*(ROOT / "samples").glob("*/*.trav"), *(ROOT / "tests/reference/logs").glob("*.trav"))
}
SAMPLES = ("oskerra-valley", "copperjar-wash", "ternel-point")
HARD = (
    "many-units",
    "long-ridge",
    "plateau",
    "no-units",
    "loop-that-fails",
    "plunging-fold",
    "traced",
    "unconformity",
)
WITHIN_MM = 0.05
MM = 25.4 / 72.0
NEAT_MM, THIN_MM, SECTION_MM = 0.5, 0.25, 0.3
GROWN = {"A0": 2.0, "A1": 1.6, "Roll-610": 1.6}
"""How much larger lines are on paper to hang up."""
KINDS = ("key", "grey", "blank", "overlay")
WAYS = [
    *((name, "field", paper) for name in SAMPLES for paper in ("A4", "A5", "A3", "Letter portrait", "A4 portrait")),
    *((name, template, None) for name in SAMPLES for template in ("insert", "section")),
    ("oskerra-valley", "field", "A0"),
    # Two sections under one map.
    ("plunging-fold", "field", "A0"),
    ("oskerra-valley", "field", "Letter landscape"),
    ("copperjar-wash", "field", "Roll-610"),
    ("ternel-point", "wall", "A1"),
    *((name, "field", None) for name in HARD),
    ("copperjar-wash", "field", "A4 scale 1:1000"),
    ("ternel-point", "field", "A5 scale 1:250"),
]  # fmt: skip
USUAL = [
    ("ternel-point", "field", "A4"),
    ("ternel-point", "field", "A5"),
    ("ternel-point", "field", "Letter portrait"),
    ("ternel-point", "field", "A3"),
    ("copperjar-wash", "insert", None),
    ("oskerra-valley", "section", None),
    ("copperjar-wash", "field", "Roll-610"),
    ("ternel-point", "wall", "A1"),
    *((name, "field", None) for name in ("no-units", "loop-that-fails", "unconformity")),
]
"""Each paper, each template, each sort of log once."""


@cache
def drawn(name, template, paper):
    """The four documents as PDF, each of its pages with a map or a section."""
    path = LOGS[name]
    text = None
    if paper is not None:
        lines = [line for line in path.read_text("utf-8").splitlines() if not line.startswith("sheet ")]
        text = "\n".join([*lines, f"sheet paper {paper}", ""])
    found = once.compiled(path, text)
    assert not found.failed, [one.message for one in found.diagnostics]
    made = {
        kind: once.drawn(path, "film" if kind == "overlay" else kind, template, text)
        for kind in ("key", "grey", "blank", "overlay")
    }
    # Words that found no room on a film stand on one that lies on none.
    films = sum(page.title != "Words of the overlay" for page in made["overlay"].pages)
    return {kind: write_pdf(replace(one, pages=one.pages[:films])) for kind, one in made.items()}


def lines(page, grown=1.0):
    """Of each layer, every stroked path as (width, points, whether closed), in millimetres; widths as on a page in the hand."""
    names = {
        f"/{key.removeprefix('/')}": str(value.Name)
        for key, value in page.Resources.get("/Properties", pikepdf.Dictionary()).items()
    }
    found, stack, width, points, closed = {}, [], 0.0, [], False
    for operands, operator in pikepdf.parse_content_stream(page):
        match str(operator):
            case "BDC":
                stack.append(names.get(str(operands[1]), ""))
            case "EMC":
                stack.pop()
            case "w":
                width = float(operands[0]) * MM
            case "m" | "l":
                points.append([float(one) * MM for one in operands])
            case "h":
                closed = True
            case "S" | "B*" | "f*" | "n":
                if str(operator) in {"S", "B*"} and stack:
                    found.setdefault(stack[-1], []).append(
                        (round(width / grown, 2), np.array(points), closed)
                    )
                points, closed = [], False
    return found


def neat_line(layers):
    """Left, lower, right, upper; None on a page without a map."""
    frames = [
        points for width, points, closed in layers.get("grid", []) if width == NEAT_MM and len(points) >= 4
    ]
    return np.concatenate([frames[0].min(axis=0), frames[0].max(axis=0)]) if frames else None


def farthest(points, others):
    """How far any of some points is from the nearest of others."""
    if not len(points):
        return 0.0
    return float(np.hypot(*(points[:, None, :] - others[None, :, :]).transpose(2, 0, 1)).min(axis=1).max())


def all_points(layers, name, width=None):
    there = [points for wide, points, _ in layers.get(name, []) if width is None or wide == width]
    return np.concatenate(there) if there else np.zeros((0, 2))


@pytest.mark.every(2)
@pytest.mark.parametrize(("name", "template", "paper"), some(WAYS, USUAL))
def test_the_four_lie_on_each_other(name, template, paper):
    """Frame, walk and axes of sections, on every page of maps and sections."""
    files = {kind: pikepdf.open(io.BytesIO(data)) for kind, data in drawn(name, template, paper).items()}
    pages = {kind: file.pages for kind, file in files.items()}
    assert len({len(one) for one in pages.values()}) == 1
    assert len(pages["key"])
    grown = GROWN.get((paper or "").partition(" ")[0], 1.0)
    for number in range(len(pages["key"])):
        key, grey, blank, overlay = (lines(pages[kind][number], grown) for kind in KINDS)
        assert len({tuple(map(float, pages[kind][number].mediabox)) for kind in KINDS}) == 1
        frames = [neat_line(one) for one in (key, grey, blank, overlay)]
        assert number or template == "section" or frames[0] is not None
        if frames[0] is not None:
            assert max(np.abs(one - frames[0]).max() for one in frames) <= WITHIN_MM
        # Letters at the ends of a section, with their leaders, stand where each sheet has room.
        for layer, width in (("legs", None), ("section lines", SECTION_MM)):
            walked = all_points(blank, layer, width)
            for other in (key, grey):
                assert farthest(walked, all_points(other, layer, width)) <= WITHIN_MM
        axes = all_points(blank, "section", THIN_MM)
        for other in (key, grey):
            assert farthest(axes, all_points(other, "section", THIN_MM)) <= WITHIN_MM
        for layer in ("contacts", "attitudes"):
            assert farthest(all_points(overlay, layer), all_points(key, layer)) <= WITHIN_MM


@pytest.mark.parametrize(("name", "paper"), [("ternel-point", "A4"), ("ternel-point", "A4 portrait")])
def test_register_crosses_stand_on_the_corners_of_the_neat_line(name, paper):
    """Arms out of each corner, as far as the margin lets them; the same on all four."""
    margin = 10.0
    for data in drawn(name, "field", paper).values():
        file = pikepdf.open(io.BytesIO(data))
        layers = lines(file.pages[0])
        left, low, right, top = neat_line(layers)
        arms = {
            tuple(np.round(points.ravel(), 2))
            for width, points, _ in layers["grid"]
            if width == 0.18 and len(points) == 2
        }
        edge = float(file.pages[0].mediabox[2]) * MM - margin
        for x, way in ((left, -1.0), (right, 1.0)):
            for y, up in ((low, -1.0), (top, 1.0)):
                assert any(np.allclose(one, (x, y, x, y + 2.4 * up), atol=0.02) for one in arms), (x, y)
                end = min(x + 2.4 * way, edge)
                assert abs(end - x) < 0.02 or any(np.allclose(one, (x, y, end, y), atol=0.02) for one in arms)


def test_an_overlay_prints_no_more_than_what_a_handout_lacks():
    """On film whatever is printed twice hides what it lies on."""
    data = drawn("copperjar-wash", "field", None)["overlay"]
    page, file = pypdf.PdfReader(io.BytesIO(data)).pages[0], pikepdf.open(io.BytesIO(data))
    layers = set(lines(file.pages[0]))
    assert {"grid", "contacts", "attitudes", "edge of ground seen"} <= layers
    assert not layers & {"legs", "stations", "contours", "section lines", "streams and paths", "norths"}
    text = " ".join(page.extract_text().split())
    assert "Not a land survey" in text
    assert "local rules" in text
    for operands, operator in pypdf.generic.ContentStream(page.get_contents(), page.pdf).operations:
        if operator in {b"rg", b"RG"}:
            assert len({round(float(one), 2) for one in operands}) == 1
