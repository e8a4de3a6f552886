"""However many hazards there are, each is on the sheet in full, and on every kind of it."""

from __future__ import annotations

import re

import pytest

from tests.sheet.fixture_sheet import compiled
from tests.sheet.pages import box, flat
from tests.thorough import each, either
from traverse.compile import blank_ground, map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.following import legend_pages
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.legend.blocks import limits_block
from traverse.sheet.legend.page_cautions import page_cautions
from traverse.sheet.legend.panels import hazards_panel
from traverse.sheet.paper.page import Box, Path, Text
from traverse.sheet.signs.symbols import symbol
from traverse.sheet.template.reading import Paper, read_template

MANY = either(24, 45)


def log(count, paper):
    hazard = "  hazard very loose blocks above the path, mind the edge and the deep water, place {}\n"
    walk = "".join(f"to {n} {45 + 20 * n % 300:03} 40m\n{hazard.format(n)}" for n in range(2, count + 2))
    return compiled(
        f"sheet paper {paper}\nbearings true\nattitudes dip-direction\nunit Aa Alpha ; Triassic\n"
        f"section A-A' from 1 to 3\nat 1\n  unit Aa\n  bed 120/30\n{walk}"
    )


def made(found, template, kind):
    read = read_template(template).value
    if kind is compose_blank:
        return kind(found.trav, lay=blank_ground, template=read, mark="abc").value
    return kind(map_ground(found.trav), (), template=read, mark="abc").value


def said(page):
    return " ".join(one.text for one in flat(page.items) if isinstance(one, Text)).replace("\u00a0", " ")


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("kind", "sheet", "count"),
    each(
        [compose, compose_grey, compose_blank],
        [("field", "A5 portrait"), ("field", "A4"), ("wall", "A1"), ("insert", "A5")],
        [3, MANY],
    ),
)
def test_every_hazard_is_there_in_full(kind, sheet, count):
    template, paper = sheet
    document = made(log(count, paper), template, kind)
    whole = " ".join(said(page) for page in document.pages)
    places = {int(one) for one in re.findall(r"deep water, place (\d+)\b", whole)}
    assert places == set(range(2, count + 2))
    for page in document.pages:
        for one in flat(page.items):
            if isinstance(one, Text) and not one.turn_deg:
                left, low, right, top = box(one)
                assert min(left, low) >= 9.95, one
                assert right <= page.width_mm - 9.95, one
                assert top <= page.height_mm - 9.95, one


@pytest.mark.parametrize("width", [128.0, 277.0])
def test_hazards_in_one_paragraph_stand_behind_their_sign(width):
    """Where they run on, at the foot of a page and on small paper, H1 stood without what it is on the map."""
    found = log(3, "A5")
    sign = [one.fill for one in symbol("hazard", (0.0, 0.0))]
    foot = page_cautions(found.log, width=width, who="")
    limits = limits_block(found.trav, width=width / 2.0, run_on=True)
    for block in (foot, limits):
        (first,) = (one for one in block.items if isinstance(one, Text) and "H1" in one.text)
        before = [one for one in block.items if isinstance(one, Path) and one.fill in sign and one.fill]
        ink = [command[1:3] for one in before for command in one.commands if len(command) > 2]
        assert ink
        assert all(x < first.at[0] and abs(y - first.at[1] - 0.75) < 2.0 for x, y in ink)
        assert all(box(one)[2] <= width + 1e-6 for one in block.items if isinstance(one, Text))


def test_what_is_not_on_sheet_1_is_counted_there_and_told_where():
    for kind in (compose, compose_blank):
        first, *rest = made(log(MANY, "A5 portrait"), "field", kind).pages
        (left,) = re.findall(r"(\d+) (?:more )?hazards on a later sheet", said(first))
        listed = set(re.findall(r"\bH(\d+), station", said(first)))
        assert int(left) + len(listed) == MANY
        assert any(f"H{MANY}, station {MANY + 1}" in said(page) for page in rest)


@pytest.mark.thorough
def test_whatever_gives_way_on_a_small_sheet_it_is_no_hazard():
    beds = ["Aa/75", "Bb/71", "Cc/71", "Dd/69", "Dd/29", "Dd/32", "Cc/27", "Cc/33", "Bb/27", "Bb/29"]
    bearings = (None, 77, 90, 101, 103, 95, 81, 76, 85, 98)
    walk = ""
    for n, (unit, dip) in enumerate((one.split("/") for one in beds), start=1):
        walk += f"to {n} {bearings[n - 1]:03} 40m +1\n" if n > 1 else ""
        walk += "along 13m\n  contact Cc/Bb inferred\n" if n == 9 else ""
        walk += f"at {n}\n"
        walk += f"  unit {unit}\n  bed 270/{dip}{' overturned' if n < 4 else ''}\n"
        walk += {2: "  tops E\n", 8: "  tops up\n"}.get(n, "")
    hazards = "at 5\n  hazard cliff falls\n  hazard tide cuts off the beach\nat 10\n  hazard quicksand\n"
    found = compiled(
        "sheet paper A5\nbearings true\nattitudes dip-direction\nunit Dd Delta ; Triassic\n"
        "unit Cc Gamma ; Triassic\nunit Bb Beta ; Permian\nunit Aa Alpha ; Permian\n"
        f"section A-A' from 1 to 10\n{walk}{hazards}"
    )
    for kind in (compose, compose_grey, compose_blank):
        first = said(made(found, "field", kind).pages[0])
        assert all(f"H{n}, station" in first for n in (1, 2, 3)), kind


@pytest.mark.thorough
def test_a_list_that_is_sure_to_take_more_than_one_page_is_not_laid_to_see_whether_one_holds_it():
    paper = Paper(name="A4", width=210.0, height=297.0)
    frame = Box(x=12.0, y=12.0, width=186.0, height=273.0)

    def laid(count, **asked):
        panel = hazards_panel(log(count, "A4").trav)
        return legend_pages([panel], paper=paper, gap=6.0, frame=frame, **asked)

    assert laid(20, on_one=True) == laid(20)
    assert len(laid(20)) == 1
    assert laid(400, on_one=True) == ()
    assert len(laid(400)) > 2
