"""What a section says of its lines is true of the lines that it draws."""

from types import SimpleNamespace

import pytest

from traverse.length import Lengths, LengthUnit
from traverse.structure.section.construct import _out_again, _stopped, _turns_over, _unsure
from traverse.structure.section.records import LinePiece, PointKind, Stop


def line(label, at, *ends, reason=Stop.OUT_AGAIN):
    """One that comes out at a place, with a half that ends at each of the others."""
    start = SimpleNamespace(at=at, points=[SimpleNamespace(label=label)])
    halves = [SimpleNamespace(points=(at, end), reason=reason) for end in ends]
    return SimpleNamespace(starts=[start], halves=halves)


def said_of(*lines):
    return _stopped(lines, _out_again(lines, near_m=20.0))


@pytest.mark.parametrize(
    ("other", "said"),
    [
        # Met there, 2 m from where the first comes out again.
        (("Bb/Aa", (212.0, 8.0)), False),
        # Met on the way there; met 90 m on, or another contact.
        (("Bb/Aa", (150.0, 40.0)), False),
        (("Bb/Aa", (300.0, 8.0)), True),
        (("Cc/Bb", (212.0, 8.0)), True),
    ],
)
def test_a_contact_comes_out_again_only_where_it_was_not_met(other, said):
    told = said_of(line("Bb/Aa", (70.0, 60.0), (210.0, 8.0)), line(*other))
    assert bool(told) is said
    assert all("Bb/Aa comes out of the ground again where it was not met" in one for one in told)


def test_what_only_met_another_contact_is_told_beside_others():
    """Of one contact alone it takes two lines to cross."""
    met = line("Bb/Aa", (0.0, 0.0), (50.0, 9.0), reason=Stop.AT_CONTACT)
    end = "would cross: look again at the dips beside them."
    assert said_of(met, line("Bb/Aa", (51.0, 9.0))) == [f"Two lines of Bb/Aa {end}"]
    other = line("Cc/Bb", (51.0, 9.0), (51.0, 0.0), reason=Stop.AT_CONTACT)
    assert said_of(met, other) == [f"Bb/Aa and Cc/Bb {end}"]
    ends = line("Bb/Aa", (0.0, 0.0), (50.0, 9.0), reason=Stop.OTHER_GROUND)
    assert [one.split(",")[0] for one in said_of(ends)] == ["Bb/Aa ends where"]


@pytest.mark.parametrize(
    ("points", "turns"),
    [
        ([], False),
        # Straight down one limb.
        ([(166.0, 72.0), (218.0, 4.0)], False),
        ([(45.0, 37.0), (80.0, 60.0), (106.0, 79.0)], False),
        # Over a crest, through a trough.
        ([(130.0, 7.0), (156.0, 26.0), (171.0, 7.0)], True),
        ([(130.0, 7.0), (156.0, -26.0), (171.0, 7.0)], True),
    ],
)
def test_a_line_runs_from_limb_to_limb_where_it_turns_between(points, turns):
    assert _turns_over(points) is turns


@pytest.mark.parametrize(
    ("off_m", "said"),
    [
        ((4.0, 19.0), []),
        # The larger of its lines; what is only drawn over the ground counts for nothing.
        (
            (4.0, 31.0),
            [
                "Bb/Aa may lie up to 31 m off as drawn, 1 sd: measure more beds where they turn, or lay it nearer the walk."
            ],
        ),
    ],
)
def test_a_line_that_may_lie_far_off_is_told_with_by_how_much(off_m, said):
    def drawn(sd_m, *, eroded=False, kind=PointKind.CONTACT):
        pieces = (LinePiece(eroded=eroded, points=((0.0, 0.0), (50.0, -20.0))),)
        return SimpleNamespace(kind=kind, younger="Bb", older="Aa", pieces=pieces, sd_at=lambda _: sd_m)

    lines = [*map(drawn, off_m), drawn(99.0, eroded=True), drawn(None), drawn(99.0, kind=PointKind.FAULT)]
    assert _unsure(lines, near_m=20.0, lengths=Lengths(unit=LengthUnit.METRES)) == said
