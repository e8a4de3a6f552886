"""Slips of a page planted on a walk, one at a time."""

import math

from tests.invented.models import pole

PLANTED = (
    "quarter turn",
    "half turn",
    "digits",
    "overturned",
    "unit",
    "other scale",
    "unit here",
    "hundred",
    "back bearing",
)
TOLD_DEG = 25.0
"""A slip that moves a plane less passes for a bed that rolls, of a bearing for a poor one."""


def planted(walk, slip, rng):
    """The log with one slip, and its line; None where there is nothing to plant it on."""
    lines = walk.text.splitlines()
    places = [
        (number, other)
        for number, line in enumerate(lines, 1)
        if (other := _SLIPS[slip](walk, number, line, rng)) is not None
    ]
    if not places:
        return None
    number, line = places[int(rng.integers(len(places)))]
    lines[number - 1] = line
    if slip == "overturned" and number < len(lines) and lines[number].startswith("tops"):
        # Else what was seen of the tops tells.
        lines[number] = "note thin beds"
    return "\n".join(lines) + "\n", number


def _of_bed(turn):
    """A slip of a bed's figures; `turn` makes of strike and dip those that were written."""

    def slipped(walk, number, line, rng):
        words = line.split()
        if number not in walk.beds or "/" not in words[1]:
            return None
        strike, dip = (int(one) for one in words[1].split("/"))
        turned, tilted = turn(strike, dip, rng)
        if not 0 < tilted <= 90:
            return None
        off = abs(float(pole(tilted, turned + 90.0) @ pole(dip, strike + 90.0)))
        if off >= math.cos(math.radians(TOLD_DEG)):
            return None
        return line.replace(words[1], f"{turned % 360:03d}/{tilted:02d}")

    return slipped


def _upright(walk, number, line, _rng):
    if number not in walk.beds or not line.endswith(" overturned"):
        return None
    return line.removesuffix(" overturned")


def _other_pair(walk, number, line, _rng):
    """A contact of two units two places farther down."""
    words = line.split()
    if number not in walk.contacts or words[0] != "contact" or "certain" not in words:
        return None
    younger, older = words[1].split("/")
    order = walk.model.order
    at = order.index(older)
    if at + 2 >= len(order) or order[at + 1] in walk.model.intrusive:
        return None
    return line.replace(f"{younger}/{older}", f"{order[at + 1]}/{order[at + 2]}")


def _other_unit(walk, _number, line, _rng):
    """At a station, the unit two places farther down."""
    words = line.split()
    if words[0] != "unit" or len(words) != 2:
        return None
    at = walk.model.order.index(words[1]) + 2
    return f"unit {walk.model.order[at]}" if at < len(walk.model.order) else None


def _hundred(walk, _number, line, _rng):
    """A hundred paces too many, on a walk that comes back to where it began."""
    words = line.split()
    if words[0] != "to" or "\nclose " not in walk.text:
        return None
    return line.replace(words[3], f"{int(words[3].rstrip('p')) + 100}p")


def _back_bearing(_walk, _number, line, rng):
    """Two figures of a back bearing exchanged."""
    before, found, back = line.partition(" back ")
    if not found:
        return None
    first, last = ((0, 1), (1, 2))[int(rng.integers(2))]
    figures = list(back)
    figures[first], figures[last] = figures[last], figures[first]
    other = int("".join(figures))
    off = abs((other - int(back) + 180) % 360 - 180)
    return f"{before} back {other:03d}" if other < 360 and off > TOLD_DEG else None


_SLIPS = {
    "quarter turn": _of_bed(lambda strike, dip, rng: (strike + (90 if rng.random() < 0.5 else 270), dip)),
    "half turn": _of_bed(lambda strike, dip, _: (strike + 180, dip)),
    "digits": _of_bed(lambda strike, dip, _: (strike, int(f"{dip:02d}"[::-1]))),
    "other scale": _of_bed(lambda strike, dip, _: (strike, 90 - dip)),
    "overturned": _upright,
    "unit": _other_pair,
    "unit here": _other_unit,
    "hundred": _hundred,
    "back bearing": _back_bearing,
}
