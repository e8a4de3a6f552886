"""Layers of attitudes: planes and lines, in true north, with their sign on the sheet and how it turns on the map."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from traverse.layers.making import Known, Reference, degrees, flag, metres, points, rotation, text, whole
from traverse.layers.records import MapLayer
from traverse.log.described import described
from traverse.log.items import LineKind, PlaneKind, WayUp
from traverse.sheet.map.attitudes import sighting
from traverse.structure.readings.records import Attitude, LineAttitude, PlaneAttitude, StrikeAttitude
from traverse.wording import listed


def measured_layers(day: Reference) -> Iterator[MapLayer]:
    """Planes, then lines."""
    seen = day.trav.geology.attitudes
    planes = tuple(one for one in seen if isinstance(one, PlaneAttitude | StrikeAttitude))
    yield points(
        day,
        "planes",
        "Attitudes of planes where they were read: beds, cleavage, joints and others.",
        planes,
        (
            *_first(day, PlaneKind),
            degrees(
                "strike", "True, right-handed: the dip is to its right. Missing of a flat plane.", _strike
            ),
            degrees(
                "dip",
                "Missing where the strike alone was read.",
                lambda one: one.dip_deg if isinstance(one, PlaneAttitude) else None,
            ),
            degrees("dip_direction", "True azimuth; missing of a flat plane.", _dip_direction),
            flag(
                "overturned",
                "Whether it was called overturned.",
                lambda one: one.overturned if isinstance(one, PlaneAttitude) else None,
            ),
            text(
                "tops",
                "Way-up seen there.",
                lambda one: _tops(one.tops) if isinstance(one, PlaneAttitude) else None,
            ),
            text(
                "quality",
                "How good the surface was, as noted.",
                lambda one: one.quality.value if isinstance(one, PlaneAttitude) and one.quality else None,
            ),
            *_last(day),
        ),
        _place,
        line=lambda one: one.span,
    )
    lines = tuple(one for one in seen if isinstance(one, LineAttitude))
    yield points(
        day,
        "lines",
        "Attitudes of lines where they were read: lineations, striations, hinges, currents.",
        lines,
        (
            *_first(day, LineKind),
            degrees("trend", "True azimuth toward which it plunges.", lambda one: one.trend_deg),
            degrees("plunge", "Below the horizontal.", lambda one: one.plunge_deg),
            flag("both", "Whether its sense is unknown.", lambda one: one.both),
            *_last(day),
        ),
        _place,
        line=lambda one: one.span,
    )


def _place(one: Attitude) -> tuple[float, float, float | None]:
    return one.place.east_m, one.place.north_m, one.place.up_m


def _first(day: Reference, kinds: type[PlaneKind | LineKind]) -> tuple[Known[Attitude], ...]:
    """What planes and lines have in common, before their angles."""
    return (
        text("station", "Station that it is at, or that its leg starts from.", lambda one: one.station),
        text(
            "kind",
            f"What it is: {listed([f'`{one.value}`' for one in kinds], last='or')}.",
            lambda one: described(one.booked).row_kind,
        ),
        text("unit", "Letters of the unit that it was read in, where that is known.", lambda one: one.unit),
        text("written", "All readings of its line, as written.", lambda one: one.written),
        text(
            "convention",
            "How the figures were written: `dip-right` is strike with the dip to its right, and so on.",
            lambda one: one.booked.conditions.convention.value if one.booked.conditions.convention else None,
        ),
        text(
            "read_from",
            "The north that it was read from; the angles here are from true north.",
            lambda one: (
                one.booked.conditions.attitudes_from.value if one.booked.conditions.attitudes_from else None
            ),
        ),
        *_iron(day),
    )


def _iron(day: Reference) -> Iterator[Known[Attitude]]:
    turned = {one.station: -one.degrees for one in day.trav.survey.deviations}
    yield degrees(
        "turned_for_iron",
        "By how much it was turned for local attraction at its station; missing where none was found.",
        lambda one: turned.get(one.place.address.station or ""),
    )


def _last(day: Reference) -> tuple[Known[Attitude], ...]:
    """What planes and lines have in common, after their angles."""
    figure: Callable[[Attitude], str | None] = lambda one: sighting(one).figure  # noqa: E731
    return (
        whole("n", "How many readings it is the mean of.", lambda one: one.n),
        degrees("spread", "Most that one of them lies off the mean.", lambda one: one.spread_deg),
        degrees("sd", "Standard deviation of the pole, or of the line.", lambda one: one.sd_deg),
        flag("queried", "Whether it was written with a `?`.", lambda one: one.queried),
        text("sign", "Its sign on the sheet.", lambda one: sighting(one).sign),
        text("figure", "The figure beside the sign, whole degrees.", figure),
        rotation(
            "rotation",
            "How far its sign is turned clockwise from the map's north: grid north in a grid, true north on a map of longitude"
            " and latitude. The bar of a plane, the shaft of a line.",
            lambda one: day.rotation(sighting(one).turn_deg),
        ),
        metres(
            "sd_place", "Standard deviation of its place, the larger half-axis.", lambda one: one.place.sd_m
        ),
    )


def _strike(one: PlaneAttitude | StrikeAttitude) -> float | None:
    return one.strike_deg if isinstance(one, StrikeAttitude) else one.course_deg


def _dip_direction(one: PlaneAttitude | StrikeAttitude) -> float | None:
    return None if isinstance(one, StrikeAttitude) or one.flat else one.dip_direction_deg


def _tops(tops: WayUp | None) -> str | None:
    if tops is None:
        return None
    return tops.tops.value if tops.tops else tops.toward.written if tops.toward else None
