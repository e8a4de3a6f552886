"""How far to each side the walk looked at the ground."""

from __future__ import annotations

from traverse.ground.records import BandWidth
from traverse.location.records import Survey
from traverse.settled import settled
from traverse.structure.records import Geology
from traverse.trade import BAND_LEAST_SHARE, BAND_M, BAND_MOST_SHARE


def band_width(asked_m: float | None, survey: Survey, geology: Geology) -> BandWidth:
    """As the log asks; else 20 m, but no thread and no blot on a map that shows all of the walk."""
    if asked_m is not None:
        return BandWidth(half_m=asked_m, asked=True)
    extent_m = _extent_m(survey, geology)
    # Whole metres, since the legend tells them.
    least_m = settled(BAND_LEAST_SHARE * extent_m, 0)
    most_m = max(1.0, settled(BAND_MOST_SHARE * extent_m, 0))
    return BandWidth(half_m=min(max(BAND_M, least_m), most_m), asked=False)


def _extent_m(survey: Survey, geology: Geology) -> float:
    """The larger of how far the walk reaches from west to east and from south to north."""
    places: list[tuple[float, float]] = []
    for leg in survey.legs:
        start = survey.places.get(leg.booked.start)
        if start is not None:
            places.append((start.east_m, start.north_m))
            places.append((start.east_m + leg.adjusted.east_m, start.north_m + leg.adjusted.north_m))
    places += [stretch.start for stretch in geology.band if stretch.leg is None]
    if not places:
        return 0.0
    east, north = [one[0] for one in places], [one[1] for one in places]
    return max(max(east) - min(east), max(north) - min(north))
