"""Reads the page model: every text and path of it, wherever it is grouped."""

from __future__ import annotations

import math

from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Group, Path, Text


def flat(items):
    """Every text and path, clips left aside."""
    for item in items:
        if isinstance(item, Group):
            yield from flat(item.items)
        else:
            yield item


def texts(items):
    """Every text as (x from its start, base, words)."""
    return [(start(one), one.at[1], one.text) for one in flat(items) if isinstance(one, Text)]


def words(items):
    """All words of a page, in the order of drawing, no-break spaces as plain ones."""
    return " ".join(one.text for one in flat(items) if isinstance(one, Text)).replace("\u00a0", " ")


def paths(items):
    return [one for one in flat(items) if isinstance(one, Path)]


def start(text):
    wide = width_mm(text.text, text.face, text.size_pt)
    share = text.anchor.value
    return text.at[0] - share * wide


def box(text):
    """Left, base, right, top of a level text."""
    left = start(text)
    return (
        left,
        text.at[1],
        left + width_mm(text.text, text.face, text.size_pt),
        text.at[1] + text.size_pt * 0.23,
    )


def assert_inside(items, left, low, right, top):
    """Every text and every unclipped point lies within the limits, and is a number."""
    for item in items:
        if isinstance(item, Group) and item.clip is not None:
            assert all(
                math.isfinite(value) for one in paths(item.items) for c in one.commands for value in c[1:]
            )
            continue
        for one in flat([item]):
            if isinstance(one, Text):
                x0, y0, x1, y1 = box(one)
                assert left - 0.05 <= x0, one
                assert x1 <= right + 0.05, one
                assert low - 0.05 <= y0, one
                assert y1 <= top + 0.05, one
            else:
                for command in one.commands:
                    for x, y in zip(command[1::2], command[2::2], strict=True):
                        assert left - 3.0 <= x <= right + 3.0, one
                        assert low - 3.0 <= y <= top + 3.0, one


def overlaps(items):
    """Pairs of level texts that cover each other by more than a hair."""
    found = []
    boxes = [(box(one), one.text) for one in flat(items) if isinstance(one, Text) and not one.turn_deg]
    boxes.sort()
    for index, (a, first) in enumerate(boxes):
        for b, second in boxes[index + 1 :]:
            if b[0] > a[2]:
                break
            if min(a[2], b[2]) - max(a[0], b[0]) > 0.3 and min(a[3], b[3]) - max(a[1], b[1]) > 0.3:
                found.append((first, second))
    return found
