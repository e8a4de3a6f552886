"""What a slip is reckoned with is the figure that is offered for it, read by arithmetic of the test's own."""

import math
import re

import numpy as np
import pytest

from tests.walk import conditions, walk
from traverse.adjustment.elimination import contraction
from traverse.adjustment.misread.slips import slips_of
from traverse.adjustment.normal_equations import _sparse_columns
from traverse.compare.exercise.slipped import kind_of
from traverse.log.readings import North


def azimuth_of(text):
    """`N30W`, `047`, `047.5`."""
    found = re.fullmatch(r"([NS])([\d.]+)([EW])", text)
    if found is None:
        return float(text)
    angle = float(found[2]) if found[1] == "N" else 180.0 - float(found[2])
    return angle % 360.0 if found[3] == "E" else -angle % 360.0


def slips(bearing, *, bearings=North.TRUE, declination=0.0, back=None, slope=None):
    more = {} if back is None else {"back": back}
    if slope is not None:
        more["slope"] = slope
    log = walk(
        ("1", "2", bearing, "100m", more), at=conditions(bearings=bearings, declination=declination or None)
    )
    return list(slips_of(0, log.legs[0], declination))


@pytest.mark.parametrize(
    "bearing", [7, 20, 93, 127.5, 145, 270, 355, "N7E", "N37.5W", "N40W", "S45E", "S82W", "S12E"]
)
def test_a_bearing_is_turned_to_the_one_that_is_offered(bearing):
    read = azimuth_of(bearing) if isinstance(bearing, str) else float(bearing)
    found = [one for one in slips(bearing, back=(read + 187.0) % 360.0) if one.is_bearing]
    assert len(found) > 4
    for one in found:
        turn = (azimuth_of(one.reading) - read + 180.0) % 360.0 - 180.0
        assert abs((one.turn_deg - turn + 180.0) % 360.0 - 180.0) < 1e-6
        assert abs(one.turn_deg) > 1e-6, "a slip that changes nothing is none"
        if isinstance(bearing, str) and "degrees too" in one.slip:
            assert one.reading[0] + one.reading[-1] == bearing[0] + bearing[-1]


@pytest.mark.parametrize(
    ("bearing", "expected"),
    [
        (127.5, {"172.5", "217.5"}),
        (35, {"053", "305"}),
        ("N37.5W", {"N73.5W"}),
        ("S18E", {"S81E"}),
        (110, {"101"}),
    ],
)
def test_neighbouring_digits_are_exchanged_and_what_follows_the_point_is_kept(bearing, expected):
    """Each pair once; `395` for 359 is no bearing, and a quadrant ends at 90."""
    assert {one.reading for one in slips(bearing) if "digits" in one.slip} == expected


@pytest.mark.parametrize("length", [14.8, 60, 99, 114.8, 230])
def test_a_length_is_stretched_to_the_one_that_is_offered_and_none_is_below_nothing(length):
    log = walk(("1", "2", 100, f"{length}m"), at=conditions())
    found = [one for one in slips_of(0, log.legs[0], 0.0) if "hundred" in one.slip]
    offered = [float(one.reading.rstrip("m")) for one in found]
    assert offered == pytest.approx([length + 100.0] + ([length - 100.0] if length > 100.0 else []))
    assert [one.stretch * length for one in found] == pytest.approx(offered)


@pytest.mark.parametrize(
    ("length", "least"), [("14.8m", 4), ("41m", 4), ("137p", 8), ("53p", 7), ("230ft", 4), ("163p", 8)]
)
def test_every_distance_in_its_own_unit_is_stretched_to_the_one_that_is_offered(length, least):
    """Whatever the slip: the figure that is offered, over the figure that was read."""
    unit = length.lstrip("0123456789.")
    log = walk(("1", "2", 100, length), at=conditions())
    found = [
        (float(one.reading.removesuffix(unit)), one)
        for one in slips_of(0, log.legs[0], 0.0)
        if re.fullmatch(rf"[\d.]+{unit}", one.reading) and one.slip != "leg left out"
    ]
    assert len(found) >= least
    for offered, one in found:
        assert one.stretch == pytest.approx(offered / float(length.removesuffix(unit)), abs=0.01), one.slip


NOT_MADE = {
    "10 times too large", "10 times too small", "100 times too large", "a nought too few", "a nought too many",
    "feet taken for metres", "metres taken for feet", "metres taken for paces", "first figure lost",
    "double paces counted as single", "single paces counted as double", "leg booked twice", "leg left out",
    "declination applied twice", "fore and back bearings exchanged", "misread: the back bearing is right",
    "quadrant angle read from the other end", "degrees taken for per cent", "per cent taken for degrees",
    "slope 10 times too steep", "slope 10 times too gentle", "slope too steep by 10 degrees", "slope too gentle by 10 degrees", "slope too steep by 10%", "slope too gentle by 10%",
}  # fmt: skip
"""Slips that are looked for and that no exercise plants: by eye."""


@pytest.mark.parametrize(
    ("bearing", "back"), [(35, 235.0), (137, 317.0), (137, 325.0), ("N37.5W", 142.5), ("S18E", 342.0)]
)
@pytest.mark.parametrize("length", ["41m", "137p", "53p", "230ft", "147m"])
def test_each_slip_of_a_leg_is_an_exercise_or_known_to_be_none(bearing, back, length):
    """By its words, which must not fall under another kind by chance."""
    found = set()
    for slope in (4, "12%", 24):
        more = {"back": back, "slope": slope}
        log = walk(("1", "2", bearing, length, more), at=conditions(bearings=North.MAGNETIC, declination=5.0))
        found |= {one.slip for one in slips_of(0, log.legs[0], 5.0, odd_unit=True)}
    assert {one for one in found if kind_of(one) is None} <= NOT_MADE
    assert not {one for one in found if kind_of(one) is not None} & NOT_MADE
    assert {kind_of(one) for one in found} >= {"reversed", "digits", "tens", "paces", "slope"}


def test_a_declination_is_applied_twice_only_to_what_was_read_magnetic():
    for bearings, expected in ((North.TRUE, False), (North.GRID, False), (North.MAGNETIC, True)):
        found = [one for one in slips(100, bearings=bearings, declination=12.0) if "declination" in one.slip]
        assert bool(found) is expected
        assert all(one.turn_deg == pytest.approx(-12.0) for one in found)


@pytest.mark.parametrize(("back", "told"), [(280.0, False), (281.0, False), (289.0, True), (265.0, True)])
def test_a_back_bearing_that_differs_is_offered(back, told):
    """100 and 280 agree, and so do readings that differ by no more than their errors."""
    found = [one for one in slips(100, back=back) if "back bearing is" in one.slip]
    assert bool(found) is told
    assert all((one.turn_deg - (back - 280.0)) % 360.0 == pytest.approx(0.0) for one in found)


@pytest.mark.parametrize(("back", "told"), [("280", True), ("278", True), ("289", False), (None, False)])
def test_fore_and_back_are_exchanged_only_where_they_agree(back, told):
    """Both are written at the other's place, so they agree as well as before; likewise both are ten degrees off."""
    found = [one for one in slips(100, back=back and float(back)) if one.both_turned]
    exchanged = [(one.reading, one.written) for one in found if one.slip.startswith("fore and back")]
    assert exchanged == [(f"{back} back 100", f"100 back {back}")] * told
    both = [one.reading for one in found if one.slip.startswith("both bearings 10")]
    offered = [f"{100 + off:03d} back {int(back or 0) + off}" for off in (-10, 10)]
    assert both == (offered if told else [])


@pytest.mark.parametrize("slope", [4, -3, 20, "12%", "-30%"])
def test_a_slope_is_tilted_to_the_one_that_is_offered(slope):
    """By the ratio of the angles, per cent taken as the tangent."""

    def angle(text):
        value = float(str(text).rstrip("%"))
        return math.degrees(math.atan(value / 100.0)) if str(text).endswith("%") else value

    found = [one for one in slips(100, slope=slope) if one.tilt != 1.0]
    assert found
    for one in found:
        assert one.tilt == pytest.approx(angle(one.reading) / angle(slope), rel=1e-6)


def network(seed, count=9):
    """A tree with two loops; each leg with a weight of its own."""
    rng = np.random.default_rng(seed)
    pairs = [(int(rng.integers(0, at)), at) for at in range(1, count)] + [(0, count - 1), (1, count - 2)]
    start, end = (np.array(one, dtype=np.intp) for one in zip(*pairs, strict=True))
    root = rng.normal(size=(len(pairs), 3, 3))
    return start, end, root @ root.transpose(0, 2, 1) + 0.5 * np.eye(3)


def dense(count, start, end, weight, held):
    """Normal equations of differences, by their definition; the first place is held."""
    whole = np.zeros((3 * count, 3 * count))
    for a, b, one in zip(start.tolist(), end.tolist(), weight, strict=True):
        row = np.zeros((3, 3 * count))
        row[:, 3 * a : 3 * a + 3] -= np.eye(3)
        row[:, 3 * b : 3 * b + 3] += np.eye(3)
        whole += row.T @ one @ row
    whole[3 * held : 3 * held + 3, 3 * held : 3 * held + 3] += 4.0 * np.eye(3)
    return whole


@pytest.mark.parametrize("seed", range(6))
def test_a_network_of_the_places_that_are_asked_for_has_the_covariance_of_the_whole(seed):
    """By numpy.linalg.inv of all the normal equations."""
    start, end, weight = network(seed)
    count = int(end.max()) + 1
    held = np.zeros(count, dtype=np.bool_)
    held[0] = True
    some = np.array([2, count - 1], dtype=np.intp)
    found = contraction(start, end, weight, held=held)(some)
    assert found.places[: len(some)].tolist() == some.tolist()
    # What stays: those asked for, those of which more is known, and where more than two legs meet.
    meet = np.bincount(np.concatenate((start, end)))
    assert sorted(found.places.tolist()) == sorted({*some.tolist(), 0, *np.flatnonzero(meet > 2).tolist()})
    own = int(np.flatnonzero(found.places == 0)[0])
    reduced = np.linalg.inv(dense(len(found.places), found.start, found.end, found.weight, own))
    whole = np.linalg.inv(dense(count, start, end, weight, 0))
    at = np.concatenate([3 * one + np.arange(3) for one in some.tolist()])
    np.testing.assert_allclose(reduced[:6, :6], whole[np.ix_(at, at)], rtol=1e-6, atol=1e-9)


def test_columns_of_a_sparse_inverse_are_those_of_the_dense_one():
    start, end, weight = network(2)
    count = int(end.max()) + 1
    whole = dense(count, start, end, weight, 0)
    blocks = whole.reshape(count, 3, count, 3).transpose(0, 2, 1, 3)
    every = np.arange(count)
    some = np.array([1, 5, 7], dtype=np.intp)
    found = _sparse_columns(start, end, blocks[every, every], -weight)(some)
    expected = np.linalg.inv(whole).reshape(count, 3, count, 3).transpose(0, 2, 1, 3)
    np.testing.assert_allclose(found, expected[np.ix_(some, some)], rtol=1e-6, atol=1e-9)
