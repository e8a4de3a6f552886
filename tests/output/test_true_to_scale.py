"""A printed sheet, measured: its bars, its check line and the places on its map, by the coordinates in the PDF."""

import io
import json
import math
import re
from itertools import combinations, product
from pathlib import Path as File

import numpy as np
import pypdf
import pytest

from tests.thorough import some
from traverse.__main__ import main

SAMPLES = sorted((File(__file__).parents[2] / "samples").glob("*/*.trav"))
MM_PER_POINT = 25.4 / 72.0
DOT_MM = 1.1
CONTROL_MM = 0.64
"""Across the dot of a station and the dot in the triangle of a control."""


def paths(page, reader):
    """Every path as its points in millimetres, and whether it has curves; the sheet turns and shifts nothing."""
    points, curved = [], False
    for operands, operator in pypdf.generic.ContentStream(page.get_contents(), reader).operations:
        numbers = [float(one) * MM_PER_POINT for one in operands] if operator in {b"m", b"l", b"c"} else []
        if operator == b"cm":
            assert [float(one) for one in operands] == [1, 0, 0, 1, 0, 0]
        if operator in {b"m", b"l"}:
            points.append(tuple(numbers))
        elif operator == b"c":
            points.append(tuple(numbers[4:]))
            curved = True
        elif operator in {b"S", b"f", b"f*", b"B", b"B*", b"n", b"b", b"b*"}:
            if points:
                yield np.array(points), curved
            points, curved = [], False


@pytest.fixture(scope="module", params=some(SAMPLES, 2), ids=lambda path: path.stem)
def measured(request, tmp_path_factory):
    """Points of the paths of sheet 1 on A4, and the stations by their names."""
    tmp_path = tmp_path_factory.mktemp("measured")
    for file in request.param.parent.iterdir():
        text = file.read_bytes()
        if file == request.param:
            lines = [one for one in text.decode().splitlines() if not one.startswith("sheet ")]
            text = ("\n".join(lines) + "\nsheet paper A4 landscape\n").encode()
        (tmp_path / file.name).write_bytes(text)
    log = tmp_path / request.param.name
    assert main(["sheet", str(log), "-o", str(tmp_path / "a.pdf")]) == 0
    assert main(["export", str(log), "--to", "json", "-o", str(tmp_path / "a.json")]) == 0
    reader = pypdf.PdfReader(io.BytesIO((tmp_path / "a.pdf").read_bytes()))
    page = reader.pages[0]
    assert [float(side) * MM_PER_POINT for side in page.mediabox[2:]] == pytest.approx(
        [297.0, 210.0], abs=0.01
    )
    stations = json.loads((tmp_path / "a.json").read_text(encoding="utf-8"))["stations"]
    # The figures of the bars follow on the same line.
    ratio = re.search(r"(?m)^1:(\d{3,4})(?!\d)", page.extract_text())
    scale = int(ratio[1])
    return (
        list(paths(page, reader)),
        {one["name"]: (one["east"], one["north"]) for one in stations},
        scale,
    )


def test_the_check_line_is_100_mm_long_with_a_tick_each_10(measured):
    drawn, _, _ = measured
    level = [
        points
        for points, curved in drawn
        if not curved and len(points) == 2 and abs(np.ptp(points[:, 1])) < 1e-6
    ]
    (line,) = [points for points in level if np.ptp(points[:, 0]) == pytest.approx(100.0, abs=0.1)]
    left, y = line[:, 0].min(), line[0, 1]
    ticks = sorted(
        points[0, 0] - left
        for points, curved in drawn
        if not curved
        and len(points) == 2
        and abs(np.ptp(points[:, 0])) < 1e-6
        and abs(points[:, 1].mean() - y) < 1e-3
        and np.ptp(points[:, 1]) < 3.0
    )
    assert ticks == pytest.approx([10.0 * index for index in range(11)], abs=0.01)


def test_stations_are_as_far_apart_as_the_ground_over_the_scale(measured):
    """To 0.1 %, over every pair that is far enough apart for a thousandth of a millimetre not to matter."""
    drawn, stations, scale = measured
    dots = np.array(
        [
            (points[:, 0].min() + np.ptp(points[:, 0]) / 2, points[:, 1].min() + np.ptp(points[:, 1]) / 2)
            for points, curved in drawn
            if curved
            and any(
                np.ptp(points, axis=0) == pytest.approx([size, size], abs=0.02)
                for size in (DOT_MM, CONTROL_MM)
            )
        ]
    )
    ground = np.array(list(stations.values())) * 1000.0 / scale
    # Dots of the legend and of photos are among them: the shift that most stations agree on is the map's.
    best = max(
        (dot - place for dot, place in product(dots, ground)),
        key=lambda shift: (near(ground + shift, dots) < 0.05).sum(),
    )
    off = near(ground + best, dots)
    assert (off < 0.05).sum() >= len(stations) - 1
    found = {
        name: dots[np.hypot(*(dots - (place + best)).T).argmin()]
        for name, place, far in zip(stations, ground, off, strict=True)
        if far < 0.05
    }
    assert len(found) >= 3
    far = [
        (math.dist(found[one], found[other]), wanted)
        for one, other in combinations(found, 2)
        if (wanted := math.dist(stations[one], stations[other]) * 1000.0 / scale) > 15.0
    ]
    assert len(far) >= 3
    for paper, wanted in far:
        assert paper == pytest.approx(wanted, rel=1e-3)


def near(places, dots):
    """How far each place is from the nearest dot."""
    return np.hypot(*(places[:, None, :] - dots[None, :, :]).transpose(2, 0, 1)).min(axis=1)
