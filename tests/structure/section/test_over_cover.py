"""A section over flat beds on the worn edges of a fold: what covers is drawn over what it covers, and by its own dips."""

from pathlib import Path

import pytest

TEXT = (Path(__file__).parents[2] / "reference/logs/unconformity.trav").read_text(encoding="utf-8")
COVER = {"Bs", "Cg"}


@pytest.fixture
def sections(compile_text):
    return {one.name: one for one in compile_text(TEXT).geology.sections}


def lines(section, *, cover):
    return [one for one in section.construction.lines if ({one.younger, one.older} <= COVER) is cover]


def test_ground_nearest_to_the_walk_over_the_cover_is_cover(sections):
    """The line lies 30 to 40 m from the walk over the basalt, and 70 to 95 m from that over the syncline."""
    over = {one.unit for one in sections["A-A'"].profile if 20.0 < one.distance_m < 340.0}
    assert over <= COVER


def test_what_was_worn_off_stays_under_the_cover(sections):
    section = sections["A-A'"]
    basement = [one for one in lines(section, cover=False) if one.kind.value == "contact"]
    assert len(basement) >= 3
    for one in basement:
        for piece in one.pieces:
            assert not piece.eroded
            assert all(up < section.ground_at(distance) for distance, up in piece.points)


def test_the_cover_lies_by_its_own_dips(sections):
    """Beds of 5 to 7 degrees: over the length of the section it is no steeper than they are."""
    for one in lines(sections["A-A'"], cover=True):
        for piece in one.pieces:
            (x0, z0), (x1, z1) = piece.points[0], piece.points[-1]
            assert abs(z1 - z0) <= 0.13 * abs(x1 - x0)


def test_where_the_worn_beds_were_walked_on_no_cover_lies_under_them(sections):
    """The second section runs along the walk over the syncline."""
    for one in lines(sections["B-B'"], cover=True):
        assert all(piece.eroded for piece in one.pieces)
