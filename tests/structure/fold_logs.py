"""Folds of a stated geometry typed as walks over level ground, and the closed form of their beds.

Beds of constant thickness between straight limbs: the stratigraphic height of a place is the least (of a syncline) or the
greatest (of an anticline) of the heights that the limbs' planes give it, so a horizon is known everywhere.
"""

import math

HEAD = "notation 1\nbearings true\nattitudes dip-direction\nprecision attitude 2\n"


def normal(younging_deg):
    angle = math.radians(younging_deg)
    return (math.sin(angle), math.cos(angle))


def height(point, limbs, pick=min):
    """Stratigraphic height: `limbs` are (younging angle, constant)."""
    return pick(
        normal(angle)[0] * point[0] + normal(angle)[1] * point[1] + constant for angle, constant in limbs
    )


def written(younging_deg):
    """A bed on a section that runs east, as typed."""
    over = abs(younging_deg) > 90
    dip = 180 - abs(younging_deg) if over else abs(younging_deg)
    if dip == 0:
        return "flat"
    east = (younging_deg > 0) != over
    return f"{'090' if east else '270'}/{dip:g}{' overturned' if over else ''}"


def walk(length, beds, contacts, units, *, extra="", slope="level"):
    """A walk east: `beds` (distance, younging angle), `contacts` (distance, letters younger/older), first unit first."""
    order = list(dict.fromkeys(units))
    lines = [HEAD, *(f"unit {one} Unit {one} ;" for one in order), "control 0 1000 E 1000 N 0 m"]
    lines += ["at 0", f"to 1 090 {length:.4f}m {slope}"]
    events = [(at, f"bed {written(angle)}", abs(angle) > 90) for at, angle in beds]
    events += [(at, f"contact {pair} certain", False) for at, pair in contacts]
    for at, line, over in sorted(events):
        lines += [f"along {at:.4f}m", line]
        if over:
            lines.append("tops down graded")
    return "\n".join([*lines, extra, "section A-A' from 0 to 1, depth 200 m", ""])
