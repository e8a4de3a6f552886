"""What a section can't show, and what to do about it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from traverse.angle import axial_difference, mean_axis, wrap_180, wrap_360
from traverse.diagnostic import Diagnostic, warning
from traverse.length import Lengths
from traverse.log.readings import Convention
from traverse.log.records import Projection
from traverse.record import record
from traverse.settled import SAME_DEG, settled
from traverse.source import Span
from traverse.structure.readings.records import by_rule
from traverse.structure.section.records import PointKind, Section, SectionLimit, SectionPoint
from traverse.trade import ALONG_STRIKE_DEG, FAR_SHARE, LEVEL_DEG, NEARLY_FLAT_DEG, STANDING_DEG, SURE_SD
from traverse.wording import listed, section_name


@record(frozen=True, slots=True, kw_only=True)
class OffMap:
    """What a section carried square has contacts off."""

    projection: Projection
    """That would carry them to their places."""
    way_deg: float
    """True: the one strike of all beds, or the trend of the fold axis."""
    far_m: float
    """The farthest of them."""


_LEVEL_REMEDY = "take heights with care, since thickness rests on them alone"


def section_limits(
    section: Section,
    *,
    anything: bool,
    lengths: Lengths,
    slopes: bool,
    against_seen: Sequence[tuple[SectionPoint, str]] = (),
    off_map: OffMap | None = None,
    faults_beside: Sequence[float] = (),
) -> tuple[SectionLimit, ...]:
    """Limits of a section's line and of what lies on it, the gravest first; the rest of it is drawn all the same.

    `anything` says whether any bed or contact was booked at all, `slopes` whether any slope was; `against_seen` are the
    contacts left off the section, with the unit that was seen nearer where they would come out; `off_map` says where
    the strike or the axis of all beds would carry a contact; `faults_beside` says how far off faults run past the section.
    """
    name = f"section {section_name(section.name)}"
    # Nobody chose the line that is drawn where the log names none.
    own = "name one of your own, such as `section A-A' from 1 to 2`" if section.booked is None else None
    beds = [point for point in section.points if point.tells_bedding]
    met = [point for point in section.points if point.contact is not None]
    found: list[SectionLimit] = []
    if not beds and not met:
        where = "meets no station, bed or contact" if not section.points else "meets no bed and no contact"
        if anything:
            found.append(
                _limit("section-misses", f"{name} {where}", own or "lay it across the walk", grave=True)
            )
        else:
            words = f"no bed and no contact was booked, so {name} shows the ground alone"
            found.append(_limit("section-bare", words, "book them where rock is seen"))
    elif far := [point for point in (*beds, *met) if _is_far(point, section)]:
        nearest = min(abs(point.carried_m) for point in far)
        if len(far) == len(beds) + len(met):
            words = f"all on {name} was carried {lengths.printed(nearest)} or more, over half its length"
            found.append(
                _limit("section-misses", words, own or "lay it nearer the walk, or longer", grave=True)
            )
        elif met and (beds_far := sum(point.is_bed for point in far)) and not section.levels:
            # Without a contact there are no lines.
            words = f"{_count(beds_far, 'bed')} carried farther than half of {name} took no part in its lines"
            found.append(_limit("section-far", words, own or "lay a section of its own through that ground"))
    for off_m in faults_beside:
        words = f"a fault runs past {name}, {lengths.printed(off_m)} off, and nothing is carried over it"
        brief = f"fault {lengths.printed(off_m)} off not drawn"
        found.append(_limit("section-fault-beside", words, "lay one across it", brief=brief))
    if len(section.profile) < 2:
        if slopes:
            words = f"slopes were read from no known height, so {name} is drawn on a level line"
            remedy = "type `elevation HEIGHT m map` at a station"
        else:
            words = f"no heights were measured, so {name} is drawn on a level line"
            remedy = "book slopes, up `+`, down `-`"
        found.append(_limit("section-level", words, remedy))
    found += _not_counted(section, name)
    found += _doubling(section, name, lengths)
    found += _against(against_seen, name, lengths)
    if off_map is not None:
        way = f"{round(off_map.way_deg) % 360:03d}°"
        what, along = (
            (f"all beds strike {way}", "along them")
            if off_map.projection is Projection.STRIKE
            else (f"the fold axis trends {way}", "along it, and a fold may come out twice")
        )
        words = (
            f"{name} and the map disagree: it is carried square to its line, as asked, and {what}, "
            f"so a contact lies up to {lengths.printed(off_map.far_m)} off its place {along}"
        )
        found.append(
            _limit("section-off-map", words, f"`project {off_map.projection.value}` carries it there")
        )
    if any(one.code == "section-misses" for one in found):
        return tuple(found)
    bedrock = [point for point in met if point.kind is not PointKind.FAULT]
    # Without a bed the planes of contacts, measured or through several places, tell the strike.
    flat = bool(section.levels) and section.levels[0].lies_flat
    found += [] if flat else _by_strike(section, beds or bedrock, name)
    if bedrock and not beds and all(point.apparent_dip_deg is None for point in bedrock):
        words = f"no bed lies on {name}, so no contact is carried into the ground"
        found.append(_limit("section-no-bed", words, "measure one beside a contact", grave=True))
    elif section.levels:
        laid = ", laid where it meets most units," if section.laid_for_units else ""
        words = f"all beds lie flat, so the contacts of {name}{laid} run level, each at the height where it was met"
        if not section.levels[0].is_level:
            lie = "lie nearly flat" if flat else "lie alike and dip gently"
            words = (
                f"all beds {lie}, so the contacts of {name}{laid} are planes of one dip through all places "
                f"where they were met, {_gentle(section)}"
            )
        found.append(_limit("section-flat" if flat else "section-gentle", words, _LEVEL_REMEDY))
    elif bedrock and beds:
        found += _alike(beds, name, flat=section.flat_rise == (0.0, 0.0))
    return tuple(sorted(found, key=lambda one: not one.grave))


def told(section: Section, rests_on: Sequence[Span]) -> list[Diagnostic]:
    """The grave ones as warnings at the line that asks for the section; a line that nobody asked for is not warned of.

    `rests_on` are the readings that lay the section and its beds.
    """
    if section.booked is None:
        return []
    return [
        warning(one.code, one.fact, section.booked.span, one.remedy, rests_on=rests_on)
        for one in section.limits
        if one.grave
    ]


def _gentle(section: Section) -> str:
    """The dip of the planes that gentle beds lie on, and what it is good to."""
    level = section.levels[0]
    turn_deg = section.azimuth_deg - section.grid_azimuth_deg
    way_deg = wrap_360(settled(level.grid_direction_deg + turn_deg))
    # Of a dip that its error hides the way tells nothing.
    way = f" toward {round(way_deg) % 360:03d}°" if level.dip_deg > SURE_SD * level.sd_deg else ""
    return f"{level.dip_deg:.1f} ± {max(0.1, level.sd_deg):.1f}°{way}"


def _limit(code: str, fact: str, remedy: str, *, grave: bool = False, brief: str = "") -> SectionLimit:
    return SectionLimit(code=code, fact=fact, remedy=remedy, grave=grave, brief=brief)


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _is_far(point: SectionPoint, section: Section) -> bool:
    return abs(point.carried_m) > FAR_SHARE * section.length_m


def _against(
    against_seen: Sequence[tuple[SectionPoint, str]], name: str, lengths: Lengths
) -> list[SectionLimit]:
    """Contacts that would come out where ground seen nearer is of one unit."""
    if not against_seen:
        return []
    places: dict[str, list[str]] = {}
    for point, _ in against_seen:
        places.setdefault(point.label, []).append(point.where)
    told = [f"{label} {listed(at)}" for label, at in places.items()]
    units = list(dict.fromkeys(unit for _, unit in against_seen))
    carried = lengths.printed(min(abs(point.carried_m) for point, _ in against_seen))
    one = len(against_seen) == 1
    more, are = ("", "is") if one else (" or more", "are")
    words = (
        f"{listed(told)}, carried {carried}{more} to {name}, would come out where ground seen nearer is {listed(units)}, "
        f"and {are} left off"
    )
    where = f"lay a section where {'it was' if one else 'they were'} met"
    first = against_seen[0][0]
    brief = f"{first.label} {first.where}{'' if one else f' and {len(against_seen) - 1} more'} left off"
    return [_limit("section-against-ground", words, where, brief=brief)]


def _not_counted(section: Section, name: str) -> list[SectionLimit]:
    """Beds that something doubts."""
    out = [point for point in section.points if point.is_bed and not point.counts]
    if not out:
        return []
    one = len(out) == 1
    at = listed(list(dict.fromkeys(point.where for point in out)))
    words = f"the bed{'' if one else 's'} {at}, which {'is' if one else 'are'} asked about, took no part in the lines of {name}"
    return [_limit("section-not-counted", words, f"settle {'it' if one else 'them'} first")]


def _doubling(section: Section, name: str, lengths: Lengths) -> list[SectionLimit]:
    """A bend at which the line runs back over ground that it has shown."""
    back = [
        index
        for index, (before, after) in enumerate(pairwise(section.azimuths_deg))
        if abs(wrap_180(after - before)) > 90.0 + SAME_DEG
    ]
    if not back:
        return []
    stations = section.booked.stations if section.booked is not None else ()
    index = back[0]
    whole = len(stations) == len(section.line)
    place = f"station {stations[index + 1]}" if whole else lengths.printed(section.bends_m[index])
    words = f"{name} doubles back at {place} and shows that ground twice"
    return [_limit("section-doubles-back", words, "end it there, and draw another beyond", grave=True)]


def _by_strike(section: Section, read: Sequence[SectionPoint], name: str) -> list[SectionLimit]:
    azimuths = section.azimuths_deg
    found: list[tuple[float, float, float]] = []
    for point in read:
        lies = point.attitude or (None if point.contact is None else point.contact.surface)
        if lies is not None and lies.strike_deg is not None and lies.dip_deg > LEVEL_DEG:
            apart = axial_difference(lies.strike_deg, azimuths[point.stretch])
            found.append((lies.dip_deg, lies.strike_deg, apart))
    # A cover that lies nearly flat looks so from every side: where other beds dip, they are what a section is laid across.
    found = [one for one in found if one[0] > NEARLY_FLAT_DEG] or found
    if not found:
        return []
    off = settled(median(apart for _, _, apart in found))
    if off >= ALONG_STRIKE_DEG - SAME_DEG:
        return []
    along = [strike for _, strike, apart in found if apart < ALONG_STRIKE_DEG - SAME_DEG]
    across = settled(mean_axis(along)[0] + 90.0)
    square = section.booked is not None and section.booked.projection is Projection.STRIKE
    what = "readings are carried square and dips" if square else "apparent dips and thicknesses"
    words = f"{name} runs {off:.0f}° off the strike, so {what} mislead"
    remedy = f"lay it across, near {round(wrap_360(across) % 180.0):03d}°"
    beds = [point.attitude for point in read if point.attitude is not None]
    if beds and all(by_rule(one.written) for one in beds):
        # A line is laid across the beds: where all lie along it their figures may have been read by a wrong rule.
        direction = beds[0].booked.conditions.convention is Convention.DIP_DIRECTION
        figure = "strike" if direction else "dip direction"
        remedy += (
            f"; or look at the `attitudes` line: were the figure the {figure}, it would lie across as it is"
        )
    return [_limit("strike-along-section", words, remedy, grave=True)]


def _alike(beds: Sequence[SectionPoint], name: str, *, flat: bool) -> list[SectionLimit]:
    if len(beds) == 1:
        words = f"one bed lies on {name}, so its contacts are one straight panel"
        return [_limit("section-one-bed", words, "measure another, to see whether the dip changes")]
    dips = [point.attitude.dip_deg for point in beds if point.attitude is not None]
    if min(dips) >= STANDING_DEG:
        words = f"all beds on {name} stand upright, so its contacts go straight down"
        return [_limit("section-upright", words, "look for way-up, which tells the younger side")]
    if max(dips) < LEVEL_DEG:
        words = (
            f"all beds on {name} lie flat, though its contacts and units were not met at heights that level beds have"
            if flat
            else f"all beds on {name} lie nearly flat, though no planes of one dip hold its contacts and units"
        )
        return [_limit("section-flat", words, _LEVEL_REMEDY)]
    return []
