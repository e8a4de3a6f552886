"""The text of a page leaves out nothing that is drawn."""

from dataclasses import replace

import pytest

from tests.reference.page_text import page_text
from traverse.sheet.paper.page import Anchor, Face, Group, Page, Path, Pen, Text, Tile

PEN = Pen(width_mm=0.25)
TILE = Tile(name="dots", width_mm=2.0, height_mm=2.0, commands=(("M", 0.0, 0.0), ("L", 1.0, 1.0)))
PATH = Path(commands=(("M", 1.0, 2.0), ("L", 3.0, 4.0)), pen=PEN, fill="#ffffff")
TEXT = Text(at=(5.0, 6.0), text="Sh", halo="#ffffff")
GROUP = Group(items=(PATH, TEXT))


def text(*items):
    return page_text(Page(width_mm=210.0, height_mm=297.0, items=items, title="Map"))


def test_a_page_reads_item_by_item():
    assert text(GROUP, replace(PATH, fill=TILE)) == (
        "page 210 297 'Map'\n"
        "group\n"
        "  path pen 0.25 #000000 fill #ffffff: M 1 2 L 3 4\n"
        "  text 5 6 'Sh' 7.2 pt #000000 halo #ffffff 0.5\n"
        "path pen 0.25 #000000 fill dots: M 1 2 L 3 4\n"
        "pattern dots 2 2 lines 0.2: M 0 0 L 1 1\n"
    )


NO_INK = {Pen: {"ink"}, Path: {"unit"}, Text: {"role"}}
"""What tells a copier how to treat a drawing, and is not drawn itself."""


@pytest.mark.parametrize(
    ("record", "changes"),
    [
        (PEN, {"width_mm": 0.3, "colour": "#111111", "dash_mm": (1.0,), "round_cap": True}),
        (
            TILE,
            {
                "name": "x",
                "width_mm": 3.0,
                "height_mm": 3.0,
                "commands": (),
                "line_mm": 0.3,
                "dots": ((1.0, 1.0, 0.2),),
            },
        ),
        (PATH, {"commands": (("Z",),), "pen": None, "fill": None}),
        (
            TEXT,
            {
                "at": (0.0, 0.0),
                "text": "Ss",
                "face": Face.BOLD,
                "size_pt": 8.0,
                "colour": "#111111",
                "anchor": Anchor.END,
                "turn_deg": 90.0,
                "halo": None,
                "halo_mm": 0.4,
            },
        ),
        (GROUP, {"items": (), "layer": "map", "clip": (("Z",),)}),
    ],
    ids=lambda one: type(one).__name__,
)
def test_no_field_is_left_out(record, changes):
    def drawn(one):
        if isinstance(one, Pen):
            return text(replace(PATH, pen=one))
        return text(replace(PATH, fill=one)) if isinstance(one, Tile) else text(one)

    assert set(changes) | NO_INK.get(type(record), set()) == set(type(record).__dataclass_fields__)
    for field, value in changes.items():
        assert drawn(replace(record, **{field: value})) != drawn(record), field
