"""The words that a map of raw readings is stamped with."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from traverse.sheet.paper.growing import shapes_of
from traverse.sheet.paper.labels import Taken, boxes_at, label, text_size
from traverse.sheet.paper.page import Face, Text
from traverse.sheet.paper.style import LARGE, TITLE
from traverse.sheet.said.sentences import NOT_ADJUSTED

_SIZES_PT = (TITLE, 14.0, LARGE)
_IN_MM = 2.0
"""From the frame."""
_STEPS = 50
"""Places tried along each side of the map at most."""


def stamp(walked: BaseGeometry | None, taken: Taken) -> list[Text]:
    """The words as large as there is room for beside the ground that was walked; none where there is none."""
    frame = taken.frame
    for size_pt in _SIZES_PT:
        size = text_size(NOT_ADJUSTED, Face.BOLD, size_pt)
        wide, high = frame.width - size[0] - 2 * _IN_MM, frame.height - size[1] - 2 * _IN_MM
        if wide < 0.0 or high < 0.0:
            continue
        columns = np.arange(0.0, wide + 1e-9, max(4.0, wide / _STEPS))
        rows = np.arange(0.0, high + 1e-9, max(3.0, high / _STEPS))
        corners = np.stack(np.meshgrid(columns, -rows), axis=-1).reshape(-1, 2)
        centres = corners + np.array([frame.x + _IN_MM + size[0] / 2, frame.top - _IN_MM - size[1] / 2])
        if walked is not None:
            shapely.prepare(walked)
            centres = centres[~shapely.intersects(walked, shapes_of(boxes_at(centres, size)))]
        centre = taken.first([(float(x), float(y)) for x, y in centres], size)
        if centre is not None:
            return [label(NOT_ADJUSTED, centre, face=Face.BOLD, size_pt=size_pt)]
    return []
