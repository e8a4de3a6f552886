"""A contact carried past the fault at which its block ends comes out only where no fold lies between."""

from types import SimpleNamespace

from traverse.structure.section.inputs import SectionInput, Start
from traverse.structure.section.records import PointKind


def seated(place, at, comes_out):
    """The contacts that are left of one carried to a `place` and drawn `at` the ground by its dip; the fault lies at 0 on the ground."""
    given = SectionInput.__new__(SectionInput)
    point = SimpleNamespace(kind=PointKind.CONTACT, apparent_dip_deg=None, contact=SimpleNamespace())
    given.near, given.single = 12.0, [Start(points=[point], at=at, ahead=1, block=1)]
    given.covers = lambda one: False
    given.place = lambda one: place
    given.on_ground = lambda one: one[1] == 0.0
    given._block = lambda one, met=False: int(one[0] > one[1])
    given._within_ends = lambda one: one
    given._joined = lambda single: single
    given.seat(lambda start, place, past_fault: comes_out if past_fault else None)
    return [start.at for start in given.starts]


def test_one_that_its_beds_bring_out_elsewhere_or_nowhere_is_not_on_the_section():
    place, at = (20.0, 50.0), (110.0, 0.0)
    assert seated(place, at, (112.0, 0.0)) == [at]
    assert seated(place, at, (160.0, 0.0)) == []
    assert seated(place, at, None) == []
