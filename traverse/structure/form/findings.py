"""What can be said of the structure in plain sentences, and what the data leave open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from traverse.angle import mean_azimuth, nearest_point, wrap_180
from traverse.log.records import ContactKind, Log
from traverse.structure.form.recognise import POINT_WORDS, Said, recognised
from traverse.structure.form.records import ContactPlane
from traverse.structure.readings.mean import principal_axis, widest_angle
from traverse.structure.readings.place_errors import contact_pole, poles_of
from traverse.structure.readings.records import FoldAxis, MeanBedding, PlacedContact, PlaneAttitude
from traverse.structure.readings.vectors import Vectors, dip_of, pole, pole_angle
from traverse.structure.thickness.records import Thickness
from traverse.structure.walk.across import Across, unit_ranks
from traverse.structure.words import listed
from traverse.trade import DISCORDANT_DEG, FOLD_BEDS, FOLD_SPREAD_DEG, FOLDED_DEG, GENTLE_DEG, NEARLY_FLAT_DEG

if TYPE_CHECKING:
    from shapely import STRtree


def sentences(
    log: Log,
    seen: Across | None,
    beds: Sequence[PlaneAttitude],
    contacts: tuple[PlacedContact, ...],
    thicknesses: Sequence[Thickness],
    mean: MeanBedding | None,
    axis: FoldAxis | None,
    planes: Sequence[ContactPlane] = (),
    caps: frozenset[str] = frozenset(),
) -> tuple[Said, ...]:
    """Facts with their numbers, what they make together, and what is missing; never from poles alone."""
    if not beds or mean is None:
        return tuple(map(Said, _on_one_line(contacts, planes)))
    # The axis goes with what the beds make; that there is none comes last.
    said = [Said(_axis(beds, axis))] if axis is not None else []
    said.append(Said(_dips(beds)))
    rank = unit_ranks(log)
    form = recognised(seen, rank, thicknesses) if seen is not None else ()
    overturned = list(dict.fromkeys(bed.station for bed in beds if bed.overturned))
    if overturned and not any("overturned at" in one.text for one in form):
        said.append(Said(f"Overturned at {listed(overturned)}."))
    said.extend(map(Said, _one_surface(beds, mean)))
    said.extend(form)
    said.extend(map(Said, _discordances(beds, contacts, rank, caps)))
    said.extend(map(Said, _on_one_line(contacts, planes)))
    if axis is None:
        folded = [bed for bed in beds if bed.unit not in caps]
        said.append(Said(_axis(folded, None)))
    return tuple(said)


def _on_one_line(contacts: tuple[PlacedContact, ...], planes: Sequence[ContactPlane]) -> list[str]:
    """Contacts that three places or more would give a plane, did they not lie on one line."""
    read = {(one.younger, one.older) for one in contacts if one.dip_deg is not None}
    return [
        f"{one.younger}/{one.older} was met at {len(one.lines)} places on one line, which many planes hold: a place beside "
        "that line, or its own strike and dip, would tell how it lies."
        for one in planes
        if one.strike_deg is None and one.dip_deg is None and (one.younger, one.older) not in read
    ]


def _one_surface(beds: Sequence[PlaneAttitude], mean: MeanBedding) -> list[str]:
    """Gentle beds by their mean: strikes of readings that agree may differ by a quarter of the compass."""
    if len(beds) < 3 or max(bed.dip_deg for bed in beds) > GENTLE_DEG:
        return []
    poles = poles_of(beds)
    centre = pole(mean.dip_deg, dip_direction_deg=mean.dip_direction_deg)
    off = max(pole_angle(one, centre) for one in poles)
    return [
        (
            f"Mean {mean.dip_deg:.0f}° → {round(mean.dip_direction_deg) % 360:03d}°, every reading within {off:.1f}° of it: "
            "at such dips no single strike means much."
        )
    ]


def _discordances(
    beds: Sequence[PlaneAttitude],
    contacts: tuple[PlacedContact, ...],
    rank: Mapping[str, int],
    caps: frozenset[str],
) -> list[str]:
    """Flat over dipping, pair by pair of units that meet."""
    booked: dict[str, list[PlaneAttitude]] = {}
    for bed in beds:
        if bed.unit is not None:
            booked.setdefault(bed.unit, []).append(bed)
    read = {unit: _UnitBeds(found) for unit, found in booked.items()}
    said: dict[tuple[str, str], str] = {}
    for contact in contacts:
        younger, older = contact.younger, contact.older
        if younger is None or older is None or contact.kind is ContactKind.FAULT or (younger, older) in said:
            continue
        logged = contact.kind is ContactKind.UNCONFORMITY
        upper, lower = (read[unit].at(contact) if unit in read else None for unit in (younger, older))
        if upper is None and (own := contact_pole(contact)) is not None:
            upper = (own[0], 0.0)
        if logged and (upper is None or lower is None):
            lacking = younger if upper is None else older
            said[younger, older] = (
                f"{younger} lies unconformably on {older}; how far their beds differ is open: none of {lacking} measured."
            )
            continue
        if upper is None or lower is None or (younger in caps and not logged):
            continue
        apart = pole_angle(upper[0], lower[0])
        flat, tilt = dip_of(upper[0])[0], dip_of(lower[0])
        if apart < DISCORDANT_DEG or rank.get(younger, 0) > rank.get(older, 0):
            continue
        lies = "flat" if flat <= NEARLY_FLAT_DEG else f"at {flat:.0f}°"
        below = f"{tilt[0]:.0f}°" if tilt[1] is None else f"{tilt[0]:.0f}° → {round(tilt[1]) % 360:03d}°"
        if logged:
            said[younger, older] = (
                f"{younger} lies {lies} over {older}, which dips {below}: an unconformity, {apart:.0f}° between them."
            )
        elif flat <= NEARLY_FLAT_DEG and max(upper[1], lower[1]) < DISCORDANT_DEG:
            said[younger, older] = (
                f"{younger} lies flat over {older}, which dips {below}: an unconformity or a flat fault, though logged as a "
                "plain contact."
            )
    return list(said.values())


class _UnitBeds:
    """The beds of a unit, at least one."""

    def __init__(self, beds: Sequence[PlaneAttitude]) -> None:
        self._poles = poles_of(beds)
        self._mean = principal_axis(self._poles)
        self._beds = beds

    @cached_property
    def _places(self) -> STRtree:
        # Only of folded beds: a check of a short log shall not wait for the library.
        import shapely

        return shapely.STRtree(shapely.points([(bed.place.east_m, bed.place.north_m) for bed in self._beds]))

    def at(self, contact: PlacedContact) -> tuple[Vectors, float]:
        """Mean pole and spread in degrees; of folded beds the one nearest to a contact, since limbs have no mean."""
        if len(self._poles) < 2 or self._mean[1] <= FOLDED_DEG:
            return self._mean
        from shapely import Point

        here = Point(contact.place.east_m, contact.place.north_m)
        return self._poles[int(self._places.nearest(here))], 0.0


def _dips(beds: Sequence[PlaneAttitude]) -> str:
    dips = [round(bed.dip_deg) for bed in beds]
    places = "one place" if len(beds) == 1 else f"{len(beds)} places"
    extent = f"{dips[0]}°" if min(dips) == max(dips) else f"{min(dips)}° to {max(dips)}°"
    way = _one_way(beds, 3.0)
    if way == "":
        return f"Beds at {places} lie flat or nearly so."
    if way is not None:
        return f"Beds at {places} dip {extent}, {'' if len(beds) == 1 else 'all '}toward the {way}."
    # Among steep beds the direction of a gentle one means little.
    steep = _one_way(beds, GENTLE_DEG) if max(dips) >= 2.0 * GENTLE_DEG else None
    if steep is not None:
        return f"Beds at {places} dip {extent}, all steeper than {GENTLE_DEG:.0f}° toward the {steep}."
    return f"Beds at {places} dip {extent}, in more than one direction."


def _one_way(beds: Sequence[PlaneAttitude], least_deg: float) -> str | None:
    """The point toward which all beds of at least that dip go down; None where they differ, empty where there are none."""
    ways = [bed.dip_direction_deg for bed in beds if not bed.flat and bed.dip_deg >= least_deg]
    if not ways:
        return ""
    mean_way = mean_azimuth(ways)[0]
    if any(abs(wrap_180(way - mean_way)) > 60.0 for way in ways):
        return None
    return POINT_WORDS[nearest_point(mean_way, points=8)]


def _axis(beds: Sequence[PlaneAttitude], axis: FoldAxis | None) -> str:
    if axis is not None:
        figures = f"{axis.plunge_deg:.0f}° → {round(axis.trend_deg) % 360:03d}°"
        return f"Axis {figures}, rms {axis.rms_deg:.0f}°, {axis.n} poles."
    if len(beds) < FOLD_BEDS:
        return f"Axis not determined: {len(beds) or 'none'} of the {FOLD_BEDS} beds it needs."
    most = widest_angle(poles_of(beds))
    return f"Axis not determined: no two beds lie {FOLD_SPREAD_DEG:.0f}° apart, {most:.0f}° at most."
