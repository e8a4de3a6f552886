"""A block of words in a column: its rule, its heading, its lines; and what every block keeps clear."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Face, Item, Path, Text, polyline
from traverse.sheet.paper.style import HEAD, LARGE, PENS, SMALL, line_mm
from traverse.sheet.paper.words import cut_before, wrap

HEAD_BASE_MM = 3.7
"""Base of a block's heading below its rule."""


TEXT_BASE_MM = 7.2
"""First base of its text below the rule."""


PAGE_HEAD_BASE_MM = -4.2
"""Base of the words over a page or a table, from its upper edge."""
BELOW_MM = 2.7
"""From the last base of a block to the next rule."""


def page_head(whose: str, what: str, *, width: float, height: float = 7.2) -> Block:
    """Whose page it is and what stands on it, should it lie apart from sheet 1."""
    title = cut_before(whose, what, Face.BOLD, LARGE, width)
    text = Text(at=(0.0, PAGE_HEAD_BASE_MM), text=title, face=Face.BOLD, size_pt=LARGE)
    return Block(items=(text,), height=height)


def framed(heading: str, *, width: float, aside: str | Sequence[str] = "") -> list[Item]:
    """Rule, heading and what stands at the right of it in italics: the first of some forms that has room, none cut."""
    items: list[Item] = [Path(commands=polyline([(0.0, 0.0), (width, 0.0)]), pen=PENS["block rule"])]
    if heading:
        items.append(Text(at=(0.0, -HEAD_BASE_MM), text=heading, face=Face.SEMIBOLD, size_pt=HEAD))
    room = width - text_width_mm(heading, Face.SEMIBOLD, HEAD) - 2.0
    forms = (aside,) if isinstance(aside, str) else aside
    words = next((one for one in forms if text_width_mm(one, Face.ITALIC, SMALL) <= room), "")
    if words:
        items.append(
            Text(
                at=(width, -HEAD_BASE_MM),
                text=words,
                face=Face.ITALIC,
                size_pt=SMALL,
                anchor=Anchor.END,
            )
        )
    return items


def set_lines(
    items: list[Item],
    lines: Sequence[str],
    *,
    x: float = 0.0,
    y: float,
    face: Face = Face.REGULAR,
    size_pt: float = SMALL,
) -> float:
    """Add lines of text below each other from base `y`; return the base of the line that would follow."""
    for line in lines:
        items.append(Text(at=(x, y), text=line, face=face, size_pt=size_pt))
        y -= line_mm(size_pt)
    return y


def text_block(
    heading: str, paragraphs: Sequence[str], *, width: float, size_pt: float = SMALL, aside: str = ""
) -> Block | None:
    """A heading, what stands `aside` of it, and paragraphs under it; None with nothing to say."""
    lines: list[str] = []
    for paragraph in paragraphs:
        lines.extend(wrap(paragraph, Face.REGULAR, size_pt, width))
    if not lines:
        return None
    items = framed(heading, width=width, aside=aside)
    first = TEXT_BASE_MM + line_mm(size_pt) - line_mm(SMALL)
    y = set_lines(items, lines, y=-first, size_pt=size_pt)
    return Block(items=tuple(items), height=BELOW_MM - y - line_mm(size_pt))
