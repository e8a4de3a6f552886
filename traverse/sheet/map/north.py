"""The diagram of the norths: true, grid and magnetic, with the angles between them in figures."""

from __future__ import annotations

import math

from traverse.location.records import Frame
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Anchor, Box, Face, Item, Path, Point, Text, polyline
from traverse.sheet.paper.style import BLACK, PENS, SMALL, WHITE, line_mm
from traverse.sheet.paper.words import cut, cut_lines

WIDTH_MM = 41.0
HEIGHT_MM = 20.5
_ARM_MM = 14.0
_NEAR_DEG = 11.0
_FAR_DEG = 21.0
"""Arms part by these, not by their true angles, which would look like a misprint."""
_LEFT_MM = 13.6
_LEFT_OF_HIGH_MM = 15.0
"""Where rows begin, when the upper ones stand beside the letter of the magnetic arm."""
_LOW_ROWS = 4
_MOST_ROWS = 6
_LOW_MM, _CLOSE_MM = 0.8, 2.9
_NOT_TO_SCALE = "angles not to scale"
_NONE_DEG = 0.05
"""Angles that print as 0.0."""


def north_diagram(frame: Frame, box: Box) -> tuple[Item, ...]:
    """Arms for the norths that are known, and figures to their right; grid north is page-up."""
    turn = frame.convergence_deg or 0.0
    to_true = -turn
    to_magnetic = None if frame.declination_deg is None else frame.declination_deg - turn
    foot = (box.x + 6.6, box.y + 1.6)
    arms = _arms(to_true, to_magnetic, local=frame.convergence_deg is None)
    items: list[Item] = []
    for letters, angle in arms:
        items += _arm(foot, letters, angle)
    rows: list[tuple[str, str]] = []
    if frame.convergence_deg is None:
        rows.append(("grid north is true north", ""))
    else:
        rows.append(("grid → true", _east_west(to_true)))
    if to_magnetic is not None and frame.declination_deg is not None:
        if frame.convergence_deg is not None:
            rows.append(("grid → magnetic", _east_west(to_magnetic)))
        rows.append(("declination", _east_west(frame.declination_deg)))
    parted = 1 if len(arms) > 1 else 0
    for left in (box.x + _LEFT_MM, box.x + _LEFT_OF_HIGH_MM):
        source = cut_lines(
            frame.declination_note or "",
            Face.REGULAR,
            SMALL,
            box.right - 0.6 - left,
            most=_MOST_ROWS - len(rows),
        )
        if len(rows) + len(source) + parted <= _LOW_ROWS:
            break
    if to_magnetic is not None:
        rows += [(line, "") for line in source]
    if len(arms) > 1:
        rows.append((_NOT_TO_SCALE, ""))
    right = box.right - 0.6
    # Seven rows stand closer, and lower.
    low, pitch = (2.2, line_mm(SMALL)) if len(rows) <= _MOST_ROWS else (_LOW_MM, _CLOSE_MM)
    y = box.y + low + pitch * (len(rows) - 1)
    for words, figures in rows:
        room = right - left - (width_mm(figures, Face.REGULAR, SMALL) + 0.8 if figures else 0.0)
        # Contours and streams may run under them.
        shown = cut(words, Face.REGULAR, SMALL, room)
        face = Face.ITALIC if words == _NOT_TO_SCALE else Face.REGULAR
        items.append(Text(at=(left, y), text=shown, face=face, size_pt=SMALL, halo=WHITE))
        if figures:
            items.append(Text(at=(right, y), text=figures, anchor=Anchor.END, size_pt=SMALL, halo=WHITE))
        y -= pitch
    return tuple(items)


def _east_west(angle_deg: float) -> str:
    if abs(angle_deg) < _NONE_DEG:
        return "0.0°"
    return f"{abs(angle_deg):.1f}° {'E' if angle_deg > 0 else 'W'}"


def _arms(to_true: float, to_magnetic: float | None, *, local: bool) -> list[tuple[str, float]]:
    """Letters and drawn angle of each arm; what falls together shares one."""
    given = {"G": 0.0, "T": 0.0 if local else to_true}
    if to_magnetic is not None:
        given["M"] = to_magnetic
    together: dict[float, list[str]] = {}
    for letter, angle in given.items():
        key = next((one for one in together if abs(one - angle) < _NONE_DEG), angle)
        together.setdefault(key, []).append(letter)
    arms: list[tuple[str, float]] = []
    for angle, letters in together.items():
        if abs(angle) < _NONE_DEG:
            arms.append(("".join(letters), 0.0))
            continue
        beside = [one for one in together if one * angle > 0 and abs(one) > _NONE_DEG]
        far = len(beside) > 1 and abs(angle) == max(abs(one) for one in beside)
        alone = len(beside) == 1
        drawn = _FAR_DEG if far or (alone and "M" in letters) else _NEAR_DEG
        arms.append(("".join(letters), math.copysign(drawn, angle)))
    return arms


def _arm(foot: Point, letters: str, angle_deg: float) -> list[Item]:
    turn_rad = math.radians(angle_deg)
    sin, cos = math.sin(turn_rad), math.cos(turn_rad)

    def out(along: float, aside: float) -> Point:
        return (foot[0] + along * sin + aside * cos, foot[1] + along * cos - aside * sin)

    tip = out(_ARM_MM, 0.0)
    items: list[Item] = [Path(commands=polyline([foot, tip]), pen=PENS["leader"])]
    if "T" in letters:
        points = []
        for index in range(10):
            radius = 1.1 if index % 2 == 0 else 0.44
            at = turn_rad + math.pi * index / 5
            points.append((tip[0] + radius * math.sin(at), tip[1] + radius * math.cos(at)))
        items.append(Path(commands=polyline(points, close=True), fill=BLACK))
    if "M" in letters:
        items.append(
            Path(
                commands=polyline([tip, out(_ARM_MM - 3.6, 0.0), out(_ARM_MM - 3.6, 0.95)], close=True),
                fill=BLACK,
            )
        )
    label = out(_ARM_MM + 2.0, 0.0)
    items.append(
        Text(
            at=(label[0], label[1] - 0.5),
            text=letters,
            face=Face.SEMIBOLD,
            size_pt=SMALL,
            anchor=Anchor.MIDDLE,
            halo=WHITE,
        )
    )
    return items
