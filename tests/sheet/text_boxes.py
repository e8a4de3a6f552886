"""Where the words of a page stand: boxes of its texts, turned as they are, what covers what, and what leaves the margins."""

from __future__ import annotations

import math

import numpy as np
import shapely

from tests.sheet.pages import flat
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Text
from traverse.sheet.paper.style import MM_PER_POINT

CAPITALS = 0.64
"""Height of capitals and figures over the size of type."""


def text_box(text):
    """Box of a text from its base line to the height of its capitals, turned with it."""
    wide = width_mm(text.text, text.face, text.size_pt)
    left = -text.anchor.value * wide
    turn = math.radians(text.turn_deg)
    sin, cos = math.sin(turn), math.cos(turn)
    high = CAPITALS * text.size_pt * MM_PER_POINT
    corners = [(left, 0.0), (left + wide, 0.0), (left + wide, high), (left, high)]
    return shapely.Polygon(
        [(text.at[0] + x * cos - y * sin, text.at[1] + x * sin + y * cos) for x, y in corners]
    )


def said_on(page):
    return [one for one in flat(page.items) if isinstance(one, Text) and one.text.strip()]


def covering(page, *, by_mm2=0.15):
    """Pairs of texts of which one covers more than a hair of the other."""
    said = said_on(page)
    boxes = np.array([text_box(one) for one in said], dtype=object)
    tree = shapely.STRtree(boxes)
    pairs = tree.query(boxes, predicate="intersects").T
    return [
        (said[i].text, said[j].text)
        for i, j in pairs.tolist()
        if i < j and boxes[i].intersection(boxes[j]).area > by_mm2
    ]


def outside(page, *, margin_mm):
    """Texts that leave the margins of a page."""
    inside = shapely.box(margin_mm, margin_mm, page.width_mm - margin_mm, page.height_mm - margin_mm).buffer(
        0.05
    )
    return [one.text for one in said_on(page) if not inside.covers(text_box(one))]
