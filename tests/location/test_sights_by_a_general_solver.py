"""Resection and intersection of sights against scipy.optimize.least_squares on the bearings themselves.

Each sight is weighed by its error in degrees, so a near point counts for more in metres; errors from the Jacobian. A known
point with an error of its own widens its sights by that error over the distance (any text on adjustment by least squares).
"""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

GRIDS = {
    "local": ("", (0.0, 0.0), 0.0),
    # 54° W 49° N, by PROJ: true to scale, and its north is 36.932° east of true north.
    "turned": ("grid EPSG:3978\n", (2_796_564.765, 933_883.218), 36.9324),
}


def azimuth(here, there):
    return math.degrees(math.atan2(there[0] - here[0], there[1] - here[1])) % 360.0


def solved(start, rays, sd_deg):
    """Place and covariance; `rays` are places seen and the grid azimuths that were read to them."""

    def off(place):
        return [
            ((azimuth(place, at) - read + 180.0) % 360.0 - 180.0) / sd
            for (at, read), sd in zip(rays, sd_deg, strict=True)
        ]

    found = least_squares(off, start, xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=100.0)
    return found.x, np.linalg.inv(found.jac.T @ found.jac)


def axes_of(covariance):
    values, vectors = np.linalg.eigh(covariance)
    return (
        math.sqrt(values[1]),
        math.sqrt(values[0]),
        math.degrees(math.atan2(vectors[0, 1], vectors[1, 1])) % 180.0,
    )


def agrees(place, expected, covariance, origin):
    assert place.east_m - origin[0] == pytest.approx(expected[0], abs=0.15)
    assert place.north_m - origin[1] == pytest.approx(expected[1], abs=0.15)
    major, minor, way = axes_of(covariance)
    assert place.ellipse.major_m == pytest.approx(major, rel=0.03)
    assert place.ellipse.minor_m == pytest.approx(minor, rel=0.03)
    assert (place.ellipse.azimuth_deg - way + 90.0) % 180.0 - 90.0 == pytest.approx(0.0, abs=3.0)


@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("seed", range(4))
def test_resection(compile_text, grid, seed):
    """A place from three known points that were sighted from it."""
    line, origin, convergence = GRIDS[grid]
    rng = np.random.default_rng(seed)
    true = rng.uniform(-100.0, 100.0, 2)
    ways = np.radians(rng.uniform(0.0, 360.0) + np.array([0.0, 115.0, 235.0]) + rng.uniform(-20.0, 20.0, 3))
    far = rng.uniform(300.0, 900.0, 3)
    peaks = np.round(true + far[:, None] * np.stack((np.sin(ways), np.cos(ways)), axis=1), 1)
    reads = [round((azimuth(true, peak) + convergence + rng.normal(0.0, 0.4)) % 360.0, 1) for peak in peaks]
    text = f"notation 1\nbearings true\n{line}"
    text += "".join(
        f"control P{i} {origin[0] + e:.3f} E {origin[1] + n:.3f} N\n" for i, (e, n) in enumerate(peaks)
    )
    text += (
        "at 1\n" + "".join(f"sight P{i} {read:05.1f}\n" for i, read in enumerate(reads)) + "to 2 090 100m\n"
    )
    place = compile_text(text).survey.places["1"]
    rays = [(peak, (read - convergence) % 360.0) for peak, read in zip(peaks, reads, strict=True)]
    agrees(place, *solved(true, rays, [1.0] * 3), origin)


@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("seed", range(4))
def test_intersection(compile_text, grid, seed):
    """A landmark from three stations that are known."""
    line, origin, convergence = GRIDS[grid]
    rng = np.random.default_rng(10 + seed)
    true = rng.uniform(-100.0, 100.0, 2)
    ways = np.radians(rng.uniform(0.0, 360.0) + np.array([0.0, 70.0, 140.0]))
    far = rng.uniform(200.0, 500.0, 3)
    stations = np.round(true + far[:, None] * np.stack((np.sin(ways), np.cos(ways)), axis=1), 1)
    reads = [round((azimuth(one, true) + convergence + rng.normal(0.0, 0.4)) % 360.0, 1) for one in stations]
    text = f"notation 1\nbearings true\n{line}"
    text += "".join(
        f"control {i} {origin[0] + e:.3f} E {origin[1] + n:.3f} N\n" for i, (e, n) in enumerate(stations)
    )
    text += "".join(f"at {i}\nsight Crag {read:05.1f}\n" for i, read in enumerate(reads))
    place = compile_text(text).survey.places["Crag"]

    def off(at):
        # Half a turn from how the place sees the station.
        return [
            (azimuth(one, at) - (read - convergence) + 180.0) % 360.0 - 180.0
            for one, read in zip(stations, reads, strict=True)
        ]

    found = least_squares(off, true, xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=100.0)
    agrees(place, found.x, np.linalg.inv(found.jac.T @ found.jac), origin)


@pytest.mark.parametrize("seed", range(4))
def test_a_leg_between_two_places_by_sights_is_weighed_with_both(compile_text, seed):
    """Least squares of two resections, each with its covariance, and of the leg with its own: one dense solution."""
    rng = np.random.default_rng(20 + seed)
    stations = np.round(rng.uniform(((-40.0, -40.0), (110.0, 40.0)), ((40.0, 40.0), (190.0, 120.0))), 1)
    ways = np.radians(np.array([10.0, 80.0, 235.0]) + rng.uniform(-20.0, 20.0, 3))
    peaks = np.round(400.0 * np.stack((np.sin(ways), np.cos(ways)), axis=1) + (75.0, 40.0), 1)
    text = "notation 1\nbearings true\nprecision bearing 1, tape 2%\nadjust least-squares\n"
    text += "".join(f"control P{i} {e:.1f} E {n:.1f} N\n" for i, (e, n) in enumerate(peaks))
    normal, right = np.zeros((4, 4)), np.zeros(4)
    way = stations[1] - stations[0]
    far, course = float(np.hypot(*way)) + 2.0, math.degrees(math.atan2(*way)) % 360.0
    for name, true in enumerate(stations):
        reads = [round((azimuth(true, peak) + rng.normal(0.0, 0.4)) % 360.0, 1) for peak in peaks]
        sights = "".join(f"sight P{i} {read:05.1f}\n" for i, read in enumerate(reads))
        text += f"at 1\n{sights}to 2 {course:05.1f} {far:.1f}m level\n" if not name else f"at 2\n{sights}"
        place, covariance = solved(true, list(zip(peaks, reads, strict=True)), [1.0] * 3)
        part = slice(2 * name, 2 * name + 2)
        normal[part, part] += np.linalg.inv(covariance)
        right[part] += np.linalg.inv(covariance) @ place
    turn = math.radians(round(course, 1))
    along = np.array((math.sin(turn), math.cos(turn)))
    across = np.array((along[1], -along[0]))
    spread = (0.02 * far) ** 2 * np.outer(along, along) + (math.radians(1.0) * far) ** 2 * np.outer(
        across, across
    )
    weight, both = np.linalg.inv(spread), np.hstack((-np.eye(2), np.eye(2)))
    normal += both.T @ weight @ both
    right += both.T @ weight @ (round(far, 1) * along)
    expected, covariance = np.linalg.solve(normal, right), np.linalg.inv(normal)
    places = compile_text(text).survey.places
    for name in range(2):
        part = slice(2 * name, 2 * name + 2)
        agrees(places[str(name + 1)], expected[part], covariance[part, part], (0.0, 0.0))


@pytest.mark.parametrize("levels", [2, 3])
def test_a_height_by_sights_with_slopes_is_their_weighted_mean(compile_text, levels):
    """Each is the point's height less the rise of the sight, weighed by the inverse square of distance times error.

    The last of three sights may be without a slope: it places the station and says nothing of its height.
    """
    peaks = [(300.0, 400.0, 860.0), (-700.0, 100.0, 905.0), (150.0, -500.0, 771.0)]
    off = [0.4, -0.3, 0.2]
    text = "notation 1\nbearings true\n" + "".join(
        f"control P{i} {e:.0f} E {n:.0f} N {up:.0f} m\n" for i, (e, n, up) in enumerate(peaks)
    )
    text += "at 1\n"
    ups, weights = [], []
    for i, (e, n, up) in enumerate(peaks):
        far = math.hypot(e, n)
        slope = round(math.degrees(math.atan2(up - 800.0, far)) + off[i], 2)
        text += f"sight P{i} {azimuth((0.0, 0.0), (e, n)):08.4f}" + (
            f" {slope:+.2f}\n" if i < levels else "\n"
        )
        if i < levels:
            ups.append(up - far * math.tan(math.radians(slope)))
            weights.append(1.0 / (far * math.radians(1.0)) ** 2)
    place = compile_text(text + "to 2 090 100m level\n").survey.places["1"]
    assert place.up_m == pytest.approx(np.average(ups, weights=weights), abs=0.02)
    assert place.sd_up_m == pytest.approx(sum(weights) ** -0.5, rel=0.01)
