"""Ink on the printed sheet, found where arithmetic of its own puts it: grid ticks, scale, azimuth less convergence."""

import math
import re

import numpy as np
import pypdfium2
import pytest
from pyproj import Proj

from tests.sheet.fixture_sheet import compiled, sheet
from traverse.output.pdf import write_pdf

EAST, NORTH = 660_020.0, 6_660_030.0
"""In zone 33, 2.9 degrees east of its meridian and 60 degrees north: grid north is 2.5 degrees off true north."""
BEARING, LEG_M, CONTACT_M, SCALE = 97.0, 200.0, 70.0, 2500
DIP_DIRECTION = 61.0
BODY = f"""grid EPSG:25833
bearings true
attitudes dip-direction
unit Ka Upper Marl ; Cretaceous
unit Jb Lower Shale ; Jurassic
control 1 {EAST:.0f} E {NORTH:.0f} N 100 m
at 1
  unit Ka
to 2 {BEARING:03.0f} {LEG_M:.0f} m +0
along {CONTACT_M:.0f} m
  contact Ka/Jb certain
at 2
  unit Jb
  bed {DIP_DIRECTION:03.0f}/35
to 3 190 150 m +0
sheet scale 1:{SCALE} paper A4 landscape band 20 m
"""
DPI = 300.0
PER_MM = DPI / 25.4
DARK = 110
"""Black ink is darker, the colour of every unit lighter."""
WITHIN_MM = 0.3
NEAT_LEFT_MM, NEAT_TOP_MM = 14.0, 196.0
"""Of A4 lying: margin 10 and room of 4 for the coordinates."""


class Ink:
    """Sheet 1 in grey at 300 dots to the inch, read in millimetres from its lower left corner."""

    def __init__(self, data):
        page = pypdfium2.PdfDocument(data)[0]
        self.height = page.get_height() / 72.0 * 25.4
        self.grey = np.squeeze(page.render(scale=DPI / 72.0, grayscale=True).to_numpy())
        self.words = page.get_textpage()

    def at(self, x, y):
        """Grey at a place, of the pixel that it falls in."""
        return int(self.grey[int((self.height - y) * PER_MM), int(x * PER_MM)])

    def across(self, centre, way, reach=0.7):
        """Middle of the ink on a short cut through a place, in millimetres from it; None where there is none."""
        steps = np.arange(-reach, reach + 1e-9, 0.02)
        grey = np.array([self.at(centre[0] + way[0] * s, centre[1] + way[1] * s) for s in steps])
        dark = grey < DARK
        return float(steps[dark].mean()) if dark.any() else None

    def label(self, pattern):
        """A coordinate by its label, and the box of the label."""
        found = re.search(pattern, self.words.get_text_range().replace("\u00a0", " "))
        boxes = [
            box
            for index in range(*found.span())
            if (box := self.words.get_charbox(index))[2] > box[0] and box[3] > box[1]
        ]
        left, low = min(one[0] for one in boxes), min(one[1] for one in boxes)
        right, high = max(one[2] for one in boxes), max(one[3] for one in boxes)
        value = int(re.sub(r"\D", "", found[0]))
        return value, *(one / 72.0 * 25.4 for one in (left, low, right, high))

    def tick(self, start, end, at, way):
        """The tick beside a label from `start` to `end`: at its middle, or at its start where a corner is near."""
        for one in ((start + end) / 2.0, start):
            place = (one, at) if way == (1.0, 0.0) else (at, one)
            off = self.across(place, way, reach=1.5)
            if off is not None:
                return one + off
        raise AssertionError("no tick beside the label")

    def place(self, east, north):
        """Where a coordinate lies, measured from the ticks inside the neat line beside the whole labels."""
        east_at, left, _, right, _ = self.label(r"\d{3}\s\d{3}\sm\sE")
        north_at, _, low, _, high = self.label(r"\d\s\d{3}\s\d{3}\sm\sN")
        x = self.tick(left, right, NEAT_TOP_MM - 1.1, (1.0, 0.0))
        y = self.tick(low, high, NEAT_LEFT_MM + 1.1, (0.0, 1.0))
        return x + (east - east_at) * 1000.0 / SCALE, y + (north - north_at) * 1000.0 / SCALE


@pytest.fixture(scope="module")
def log():
    return compiled(BODY, title="Ink Dale, day 1")


@pytest.fixture(scope="module")
def ink(log):
    return Ink(write_pdf(sheet(log)[0]))


@pytest.fixture(scope="module")
def convergence():
    """By PROJ alone, at the start."""
    utm = Proj("EPSG:25833")
    return utm.get_factors(*utm(EAST, NORTH, inverse=True)).meridian_convergence


def along(azimuth_true, convergence):
    """Unit vector on paper of a true azimuth: the page is grid north up."""
    turn = math.radians(azimuth_true - convergence)
    return math.sin(turn), math.cos(turn)


def moved(at, way, by):
    return at[0] + way[0] * by, at[1] + way[1] * by


def at_leg(ink, convergence, metres):
    """A place on the leg from 1 to 2, which is level."""
    way = along(BEARING, convergence)
    return ink.place(EAST + way[0] * metres, NORTH + way[1] * metres)


def direction(ink, centre, way, near, far):
    """True if ink runs that way: its middle on cuts across it, at two distances; and by how much it turns, degrees."""
    square = (-way[1], way[0])
    offs = [ink.across(moved(centre, way, by), square) for by in (near, far)]
    assert None not in offs
    assert max(abs(one) for one in offs) < WITHIN_MM
    return math.degrees(math.atan2(offs[1] - offs[0], far - near))


def test_the_convergence_is_large_enough_to_tell(convergence):
    assert convergence == pytest.approx(2.5, abs=0.1)


def test_a_station_is_a_dot_where_its_coordinates_put_it(ink, convergence):
    """Radius 0.55: black within 0.4 of the middle, and not at 1.0 between the lines that meet there."""
    x, y = at_leg(ink, convergence, LEG_M)
    inside = [
        ink.at(x + r * math.cos(turn), y + r * math.sin(turn))
        for r in (0.0, 0.2, 0.4)
        for turn in np.linspace(0.0, 2.0 * math.pi, 12, endpoint=False)
    ]
    assert max(inside) < DARK
    free = moved((x, y), along(DIP_DIRECTION + 45.0, convergence), 1.0)
    assert ink.at(*free) > DARK


def test_the_bar_lies_along_the_strike_less_the_convergence(ink, convergence):
    """Bar of 2.5 to each side of the station; dip 061, so the strike is 331 and 151."""
    at = at_leg(ink, convergence, LEG_M)
    strike = along(DIP_DIRECTION - 90.0, convergence)
    turned = direction(ink, at, strike, -2.2, 2.2)
    # Half a pixel over the length of the bar is a degree; the convergence left out would be 2.5.
    assert abs(turned) < 1.1
    # On the other side the arrow at the end of the section stands where the bar has ended.
    assert ink.across(moved(at, strike, -3.0), (-strike[1], strike[0]), reach=0.4) is None


def test_the_tick_points_down_the_dip_and_only_there(ink, convergence):
    at = at_leg(ink, convergence, LEG_M)
    dip = along(DIP_DIRECTION, convergence)
    square = (-dip[1], dip[0])
    assert abs(ink.across(moved(at, dip, 1.2), square)) < WITHIN_MM
    assert ink.across(moved(at, dip, 1.85), square, reach=0.3) is None
    assert ink.across(moved(at, dip, -1.2), square, reach=0.3) is None


def test_a_contact_crosses_the_leg_where_it_was_paced_along_the_strike(ink, convergence):
    """Seen, so solid for 4 to each side of the leg; its course is the strike of the one bed."""
    at = at_leg(ink, convergence, CONTACT_M)
    strike = along(DIP_DIRECTION - 90.0, convergence)
    assert abs(direction(ink, at, strike, -3.2, 3.2)) < 1.0


def test_the_leg_runs_from_dot_to_dot(ink, convergence):
    at = at_leg(ink, convergence, 0.0)
    assert abs(direction(ink, at, along(BEARING, convergence), 4.0, 20.0)) < 0.3


def test_the_check_line_is_100_mm_long(ink):
    """From the middle of its first tick to that of its last, by weight of grey: 0.1 % is 0.1 mm."""
    first_row = int((ink.height - NEAT_TOP_MM + 60.0) * PER_MM)
    runs = [(*longest_run(row < DARK), index) for index, row in enumerate(ink.grey[first_row:], first_row)]
    # Of black runs under the map only the check line is between 95 and 105 long.
    start, end, row = next(one for one in runs if 95.0 < (one[1] - one[0]) / PER_MM < 105.0)
    ticks = ink.grey[row + int(0.9 * PER_MM)]
    ends = []
    for at in (start, end):
        near = np.arange(at - 6, at + 7)
        weight = 255.0 - ticks[near]
        assert weight.sum() > 255.0
        ends.append(float((near * weight).sum() / weight.sum()))
    assert (ends[1] - ends[0]) / PER_MM == pytest.approx(100.0, rel=1e-3)


def longest_run(dark):
    """First and last place of the longest run."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], dark.astype(int), [0]))))
    if not len(edges):
        return 0, 0
    starts, ends = edges[::2], edges[1::2]
    best = int((ends - starts).argmax())
    return int(starts[best]), int(ends[best]) - 1
