"""Map grids: published projections, and places that must agree with geodesics."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest

from tests.walk import conditions, control, control_at, walk
from traverse.location.crs import UnusableGridError, open_grid
from traverse.log.readings import North
from traverse.survey import survey_log


def dms(degrees, minutes, seconds):
    return degrees + minutes / 60 + seconds / 3600


# ICSM, Geocentric Datum of Australia Technical Manual v2.4, p. 46 (MGA94); its convergence has the other sign:
# grid bearing minus azimuth there, azimuth of grid north here.
FLINDERS_PEAK = (28355, -dms(37, 57, 3.72030), dms(144, 25, 29.52440), 273741.297, 5796489.777)
BUNINYONG = (28354, -dms(37, 39, 10.15610), dms(143, 55, 35.38390), 758173.797, 5828674.340)


@pytest.mark.parametrize(
    ("point", "convergence", "scale"),
    [(FLINDERS_PEAK, dms(1, 35, 3.65), 1.00023056), (BUNINYONG, -dms(1, 47, 19.36), 1.00042107)],
)
def test_convergence_and_scale_of_the_australian_manual(point, convergence, scale):
    epsg, _, _, east, north = point
    turned, point_scale = open_grid(epsg).convergence_and_scale(np.array([east]), np.array([north]))
    assert turned[0] == pytest.approx(convergence, abs=0.005 / 3600)
    assert point_scale[0] == pytest.approx(scale, abs=5e-9)


def test_grid_bearing_of_the_australian_manual():
    """Flinders Peak to Buninyong: azimuth 306 52 05.37 is grid bearing 305 17 01.72."""
    epsg, _, _, east, north = FLINDERS_PEAK
    turned, _ = open_grid(epsg).convergence_and_scale(np.array([east]), np.array([north]))
    assert dms(306, 52, 5.37) - turned[0] == pytest.approx(dms(305, 17, 1.72), abs=0.01 / 3600)


def test_utm_of_the_working_manual():
    """Snyder (1987), Map Projections, USGS Professional Paper 1395, p. 269: Clarke 1866, 40 30 N 73 30 W.

    NAD27 / UTM zone 18N is that ellipsoid and zone; the way to WGS 84 is left out by going through its own datum.
    """
    grid = open_grid(26718)
    east, north = grid._own(-73.5, 40.5)
    assert (east, north) == pytest.approx((627106.5, 4484124.4), abs=0.05)
    turned, scale = grid.convergence_and_scale(np.array([east]), np.array([north]))
    assert scale[0] == pytest.approx(0.9997989, abs=5e-8)
    assert turned[0] == pytest.approx(0.974302, abs=1e-5)  # recomputed, not printed


def test_national_grid_of_the_guidance_note():
    """IOGP Geomatics Guidance Note 7-2, EPSG:9807: 50 30 N 0 30 E is E 577274.99, N 69740.50.

    The note rounds its scale factor to seven figures, which moves the place by 6 to 8 mm.
    """
    east, north = open_grid(27700)._own(0.5, 50.5)
    assert (east, north) == pytest.approx((577274.99, 69740.50), abs=0.01)


PLACES = [(32630, 57.0, -5.8), (32719, -33.4, -69.9), (27700, 56.1, -4.9)]


def two_legs(epsg, lat, lon, *, length, at):
    grid = open_grid(epsg)
    east, north = grid._own(lon, lat)
    legs = [("1", "2", 63.0, length), ("2", "3", 151.0, length)]
    places = survey_log(walk(*legs, epsg=epsg, at=at, controls=[control("1", east, north, 0.0)])).value.places
    geographic = {
        name: grid._own(place.east_m, place.north_m, inverse=True) for name, place in places.items()
    }
    return grid._own.crs.get_geod(), geographic


@pytest.mark.parametrize(("epsg", "lat", "lon"), PLACES)
def test_a_leg_in_the_grid_is_a_geodesic_that_runs_in_its_azimuth_at_its_middle(epsg, lat, lon):
    """Karney's geodesics in PROJ, between the places that legs of 900 m lead to."""
    geodesic, at = two_legs(epsg, lat, lon, length=900.0, at=conditions())
    for start, end, azimuth in (("1", "2", 63.0), ("2", "3", 151.0)):
        _, _, length = geodesic.inv(*at[start], *at[end])
        [middle] = geodesic.npts(*at[start], *at[end], 1)
        ahead, _, _ = geodesic.inv(*middle, *at[end])
        assert length == pytest.approx(900.0, abs=0.001)
        assert ahead == pytest.approx(azimuth, abs=0.1 / 3600)


@pytest.mark.parametrize(("epsg", "lat", "lon"), PLACES)
def test_legs_as_long_as_one_walks_agree_with_geodesics_from_their_start(epsg, lat, lon):
    """On 60 m the meridians have not yet turned by more than a few tenths of a millimetre."""
    at = conditions(bearings=North.MAGNETIC, declination=8.5)
    geodesic, places = two_legs(epsg, lat, lon, length=60.0, at=at)
    x, y, _ = geodesic.fwd(lon, lat, 63.0 + 8.5, 60.0)
    x, y, _ = geodesic.fwd(x, y, 151.0 + 8.5, 60.0)
    _, _, apart = geodesic.inv(x, y, *places["3"])
    assert apart < 0.001


def test_height_shortens_a_leg_as_a_higher_circle_is_longer():
    log = walk(("1", "2", 90.0, 1000.0), epsg=32630, controls=[control("1", 500000.0, 4000000.0, 3000.0)])
    leg = survey_log(log).value.legs[0]
    assert leg.horizontal_m == 1000.0
    assert leg.raw.east_m == pytest.approx(1000.0 * 0.9996 * 6371.0 / 6374.0, abs=1e-3)


def test_latitude_and_longitude_go_into_the_grid_and_out_again():
    log = walk(("1", "2", 10.0, 50.0), epsg=25830, controls=[control_at("1", 38.7441, -4.0086)])
    place = survey_log(log).value.places["1"]
    assert (place.lat_deg, place.lon_deg) == pytest.approx((38.7441, -4.0086), abs=1e-9)
    expected = pyproj.Transformer.from_crs(4326, 25830, always_xy=True).transform(-4.0086, 38.7441)
    assert (place.east_m, place.north_m) == pytest.approx(expected, abs=1e-4)


def test_grid_bearings_need_no_convergence():
    log = walk(
        ("1", "2", 30.0, 100.0),
        epsg=32630,
        at=conditions(bearings=North.GRID),
        controls=[control("1", 300000.0, 5000000.0)],
    )
    survey = survey_log(log).value
    raw = survey.legs[0].raw
    assert np.degrees(np.arctan2(raw.east_m, raw.north_m)) == pytest.approx(30.0, abs=1e-9)
    assert survey.legs[0].azimuth_true_deg == pytest.approx(30.0 + survey.frame.convergence_deg, abs=1e-3)


@pytest.mark.parametrize(
    ("epsg", "says"),
    [
        (999999, "no coordinate system"),
        (4326, "latitude and longitude"),
        (5703, "no east and north"),
        (2225, "foot"),
        (2048, "not east and north"),
    ],
)
def test_what_is_no_grid_in_metres_is_refused(epsg, says):
    with pytest.raises(UnusableGridError, match=says):
        open_grid(epsg)
    [diagnostic] = survey_log(walk(("1", "2", 30.0, 100.0), epsg=epsg)).diagnostics
    assert diagnostic.code == "unknown-grid"
    assert diagnostic.span.line == 4
    assert "EPSG:326zz" in diagnostic.hints[0]
