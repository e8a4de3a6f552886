"""Small areas of colour along a contact of a section, which a contact moved within its error would leave none of."""

from types import SimpleNamespace

import pytest
import shapely

from traverse.ground.records import SectionFill
from traverse.ground.section_guesses import without_slivers
from traverse.ground.section_runs import UnitRun
from traverse.structure.section.records import PointKind


@pytest.mark.parametrize(
    ("thick_m", "changed", "kept"),
    [
        (3.0, {}, False),
        # Thicker than the contact may be off; wider than the colour is deep, squared.
        (5.0, {}, True),
        (3.0, {"end_m": 180.0}, True),
        # Of a unit that the contact does not bound; walked on; of a contact that nothing is stated of, or a fault.
        (3.0, {"unit": "Cc"}, True),
        (3.0, {"seen": "Bb"}, True),
        (3.0, {"seen": "Aa"}, False),
        (3.0, {"sd_m": None}, True),
        (3.0, {"kind": PointKind.FAULT}, True),
    ],
)
def test_what_lies_within_the_error_of_one_contact_is_not_known_to_be_there(thick_m, changed, kept):
    """Over a level contact good to 4 m, from 20 m on; colour is 20 m deep."""
    end_m, unit = changed.get("end_m", 60.0), changed.get("unit", "Bb")
    sd_m = changed.get("sd_m", 4.0)
    of = SimpleNamespace(
        kind=changed.get("kind", PointKind.CONTACT),
        younger="Bb",
        older="Aa",
        error=None if sd_m is None else object(),
        sd_at=lambda _: sd_m,
        over_m=None,
        under_m=None,
    )
    line = SimpleNamespace(of=of, below=(shapely.LineString([(0.0, -8.0), (200.0, -8.0)]),))
    area = shapely.box(20.0, -8.0, end_m, -8.0 + thick_m)
    fill = SectionFill(unit=unit, area=area, start_m=20.0, end_m=end_m)
    seen = [UnitRun(unit=changed.get("seen"), start_m=50.0, end_m=70.0)]
    assert bool(list(without_slivers([fill], [line], seen, depth_m=20.0))) is kept


@pytest.mark.parametrize(
    ("unit", "top_m", "kept"), [("Aa", -25.0, False), ("Aa", -23.0, True), ("Bb", -25.0, True)]
)
def test_nor_is_what_lies_within_it_of_where_its_unit_ends_by_its_thickness(unit, top_m, kept):
    """Aa is 20 m thick under a level contact at -8 m good to 4 m: down to -28 m."""
    points = ((0.0, -8.0), (200.0, -8.0))
    of = SimpleNamespace(
        kind=PointKind.CONTACT, younger="Bb", older="Aa", error=object(), sd_at=lambda _: 4.0, over_m=None,
        under_m=20.0, pieces=[SimpleNamespace(points=points)],
    )  # fmt: skip
    line = SimpleNamespace(of=of, below=(shapely.LineString(points),))
    fill = SectionFill(unit=unit, area=shapely.box(20.0, -28.0, 40.0, top_m), start_m=20.0, end_m=40.0)
    assert bool(list(without_slivers([fill], [line], [], depth_m=20.0))) is kept
