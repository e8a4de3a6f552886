"""How thick units are, as the sheet says it: in the legend and under the contacts."""

from __future__ import annotations

from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.sheet.paper.words import (
    EN_DASH,
    NO_BREAK,
    plain,
)
from traverse.structure.records import Geology
from traverse.structure.thickness.records import UnitThickness
from traverse.wording import section_name


def of_unit(geology: Geology, letters: str) -> UnitThickness | None:
    """What is known of a unit's thickness; None where nothing is."""
    return next((one for one in geology.unit_thicknesses if one.unit == letters), None)


def thickness_words(known: UnitThickness | None, lengths: Lengths) -> str:
    """`22 ± 1 m` of a unit that was crossed whole, else `at least 13 m`; empty where nothing is known.

    Where the rules and crossings range farther than the standard error, that in its place: `60–77 m, best 73`. Where a part
    of it elsewhere is thicker than that, beyond the errors: `22 ± 1 m; at least 40 m elsewhere`.
    """
    if known is None:
        return ""
    if known.true_m is not None and known.sd_m is not None:
        ends = told_range(known, lengths)
        if ends is not None:
            words = f"{lengths.with_unit(lengths.extent(ends))}, best{NO_BREAK}{lengths.figure(known.true_m)}"
        else:
            words = lengths.with_unit(lengths.plus_minus(known.true_m, known.sd_m))
        return (
            words
            if known.least_m is None
            else f"{words}; at least {lengths.printed(known.least_m)} elsewhere"
        )
    return "" if known.least_m is None else f"at least {lengths.printed(known.least_m)}"


def told_range(known: UnitThickness, lengths: Lengths) -> tuple[float, float] | None:
    """Least and most of a unit that was crossed whole, where they are told in place of its standard error."""
    if known.range_m is None or known.sd_m is None or EN_DASH not in lengths.extent(known.range_m):
        return None
    return known.range_m if known.range_m[1] - known.range_m[0] > 2.0 * known.sd_m else None


def width_forms(trav: Traverse, letters: str) -> tuple[str, ...]:
    """How wide an intrusive body is across its walls, the fullest first: `width 3.2 ± 0.4 m`; () where nobody walked through.

    Of several crossings each has its own figure and place, for they may be several bodies; what was only walked through
    is said so. A body is narrow, so its figures have a decimal where it is under ten of the unit.
    """
    lengths = trav.log.lengths
    bodies = [one for one in trav.geology.bodies if one.unit == letters and one.through]
    found: list[str] = []
    for one in bodies:
        known = one.width_m is not None and one.width_sd_m is not None
        words = (
            f"width {lengths.short_plus_minus(one.width_m, one.width_sd_m)}"
            if one.width_m is not None and one.width_sd_m is not None
            else f"{lengths.printed_finely(one.walked_m)} walked"
        )
        legs = [trav.log.legs[part.leg] for part in one.stretches if part.leg is not None]
        if len(bodies) > 1 and legs:
            words += f" on {plain(legs[0].start)}{EN_DASH}{plain(legs[-1].end)}"
        elif not known:
            words += (
                ""
                if one.strike_deg is not None
                else ", walls read apart"
                if one.read_at
                else ", walls not read"
            )
        found.append(words)
    if len(found) < 2:
        return tuple(found)
    widths = [one.width_m for one in bodies if one.width_m is not None]
    told = widths or [one.walked_m for one in bodies]
    ends = dict.fromkeys(lengths.figure(one, places=1 if widths else 0) for one in (min(told), max(told)))
    figures = lengths.with_unit(" to ".join(ends))
    short = f"{len(bodies)} crossings, {f'width {figures}' if widths else f'{figures} walked'}"
    return ("; ".join(found), short)


def differing_crossings(geology: Geology, lengths: Lengths) -> tuple[str, ...]:
    """Units whose crossings differ by more than their errors, one sentence each."""
    found = []
    for known in geology.unit_thicknesses:
        if known.differs:
            whole = [one.true_m for one in geology.thicknesses if one.unit == known.unit and not one.at_least]
            extent = lengths.with_unit(lengths.extent(whole))
            found.append(
                f"{plain(known.unit)}, {extent}: these differ by more than their errors. It thins or thickens, a bed turns or a"
                " fault runs unseen, or the ground along a leg is uneven: read slopes over shorter legs there."
            )
    return tuple(found)


def relief_lines(geology: Geology, lengths: Lengths) -> tuple[str, ...]:
    """How far a horizon goes up and down on a section, one sentence each."""
    return tuple(
        f"Section {plain(section_name(one.section))}, {plain(one.younger)}{NO_BREAK}/{NO_BREAK}{plain(one.older)}:"
        f" relief {'at least ' if one.at_least else ''}{lengths.printed(one.relief_m)},"
        f" from {lengths.printed(one.low_m)} to {lengths.printed(one.high_m)}, as constructed."
        for one in geology.reliefs
    )
