"""Bent sections over one plane: wherever the walk bends, stops and meets the contact, every line is the plane's trace."""

import math
import random
from itertools import pairwise

import pytest

from tests.thorough import some
from traverse.structure.readings.directions import apparent_dip

# An upright plane of azimuth s cuts a bed by tan(dip) cos(s - dip direction) of fall for each metre: closed form.


def walk(seed):
    """A level walk of two to five legs over one bed, with the contact at a station (so, at a bend) or between two."""
    draw = random.Random(seed)  # noqa: S311
    dip, way = draw.randint(5, 60), draw.randint(0, 359)
    first = way + draw.choice([0, 180]) + draw.randint(-50, 50)
    azimuths = [first % 360]
    for _ in range(draw.randint(1, 4)):
        # Never along the strike, and never back over ground that was shown.
        turned = azimuths[-1] + draw.randint(-60, 60)
        across = abs(math.cos(math.radians(turned - way))) > 0.25
        same = math.cos(math.radians(turned - way)) * math.cos(math.radians(first - way)) > 0.0
        azimuths.append((turned if across and same else azimuths[-1]) % 360)
    lengths = [draw.choice([50, 75, 100, 150, 37.5, 81.3]) for _ in azimuths]
    at = draw.randrange(len(azimuths))
    share = draw.choice([0.0, 0.5, 1.0, draw.random()])
    beds = [draw.random() < 0.7 for _ in range(len(azimuths) + 1)]
    beds[draw.randrange(len(beds))] = True
    return dip, way, azimuths, lengths, at, share, beds


def text_of(dip, way, azimuths, lengths, at, share, beds):
    falls = math.cos(math.radians(azimuths[at] - way)) > 0.0
    before, after = ("Aa", "Bb") if falls else ("Bb", "Aa")
    lines = [
        "notation 1\nbearings true\nattitudes dip-direction\nunit Bb Upper ;\nunit Aa Lower ;",
        "control 0 412350 E 4289020 N 100 m",
    ]
    for index in range(len(beds)):
        if index == 0:
            lines.append("at 0")
        else:
            lines.append(f"to {index} {azimuths[index - 1]:03d} {lengths[index - 1]}m level")
            if index - 1 == at and 0.0 < share < 1.0:
                lines += [f"along {share * lengths[at]:.3f}m", "contact Bb/Aa certain", f"at {index}"]
        if beds[index]:
            lines.append(f"bed {way:03d}/{dip:02d}")
        if (index == at and share == 0.0) or (index == at + 1 and share == 1.0):
            lines.append("contact Bb/Aa certain")
        elif index != 0 or share > 0.0:
            lines.append(f"unit {before if index <= at else after}")
    via = " ".join(f"via {index}" for index in range(1, len(azimuths)))
    lines.append(f"section A-A' from 0 {via} to {len(azimuths)}, depth 200 m")
    return "\n".join(lines) + "\n"


@pytest.mark.every(2)
@pytest.mark.parametrize("first", some(range(0, 200, 20), 4))
def test_one_plane_is_one_line_over_every_bend(compile_text, first):
    for seed in range(first, first + 20):
        dip, way, azimuths, lengths, at, share, beds = walk(seed)
        if share in {0.0, 1.0}:
            met = sum(lengths[: at + int(share)])
        else:
            met = sum(lengths[:at]) + round(share * lengths[at], 3)
        compiled = compile_text(text_of(dip, way, azimuths, lengths, at, share, beds))
        (section,) = compiled.geology.sections
        ends = [sum(lengths[:index]) for index in range(len(lengths) + 1)]

        def up(distance, *, met=met, ends=ends, azimuths=azimuths, dip=dip, way=way):
            fall = 0.0
            low, high = sorted((met, distance))
            for index, azimuth in enumerate(azimuths):
                start = -math.inf if index == 0 else ends[index]
                end = math.inf if index == len(azimuths) - 1 else ends[index + 1]
                on = max(0.0, min(high, end) - max(low, start))
                fall += on * math.tan(math.radians(dip)) * math.cos(math.radians(azimuth - way))
            return 100.0 - math.copysign(1.0, distance - met) * fall

        for rule in (section.construction, section.arcs):
            (line,) = rule.lines
            assert rule.axial == ()
            for piece in line.pieces:
                for one, other in pairwise(piece.points):
                    for distance, height in (
                        one,
                        other,
                        ((one[0] + other[0]) / 2.0, (one[1] + other[1]) / 2.0),
                    ):
                        assert height == pytest.approx(up(distance), abs=1e-3), (seed, rule.name, distance)
        for point in section.points:
            if point.attitude is None:
                continue
            index = point.stretch
            assert ends[index] - 1e-3 <= point.distance_m <= ends[index + 1] + 1e-3
            assert index == section.stretch_at(point.distance_m)
            seen = apparent_dip(dip, dip_direction_deg=way, azimuth_deg=section.azimuths_deg[index])
            assert point.apparent_dip_deg == pytest.approx(seen, abs=1e-8)
