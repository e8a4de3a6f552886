"""The words of every finding: nothing else says them, and nothing reads them back."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import assert_never

from traverse.angle import nearest_point, wrap_180
from traverse.length import Lengths
from traverse.structure.form.records import (
    Against,
    AllRound,
    AxisFound,
    AxisOpen,
    BedsDip,
    BedsOverturned,
    BelowAlone,
    BrokenGround,
    DipTurns,
    Discordance,
    EvenDip,
    FaultSeen,
    Finding,
    Flexed,
    Fold,
    FoldAge,
    FormKind,
    LaidBare,
    Level,
    LimbsThick,
    ManyTurns,
    Mirror,
    NoSeparation,
    OneFault,
    OneOverturnedLimb,
    OneSurface,
    OnOneLine,
    OpenDiscordance,
    OverturnedFold,
    Runs,
    Steepening,
    StructuralForm,
    TurnedBetween,
    UnitsMirrored,
    UnitsRepeat,
)
from traverse.structure.readings.records import NoGirdle, PlaneAttitude
from traverse.structure.walk.across import address_words, contact_words
from traverse.structure.walk.beds import count_places, place_words
from traverse.trade import (
    FOLD_BEDS,
    FOLD_SPREAD_DEG,
    GENTLE_DEG,
    INTERLIMB_DEG,
    LEVEL_DEG,
    PRINTS_LEVEL_DEG,
    REACH_M,
)
from traverse.wording import article, listed

_MOST_PLACES = 8
"""More places than these are counted."""
_POINTS = {
    "N": "north",
    "NE": "north-east",
    "E": "east",
    "SE": "south-east",
    "S": "south",
    "SW": "south-west",
    "W": "west",
    "NW": "north-west",
}


def sentence(one: Finding, lengths: Lengths) -> str:
    """A finding in words."""
    words = _claim(one, lengths)
    if one.twice and one.level is Level.FOLLOWS:
        words = f"{words.removesuffix('.')}; one bed alone, at {_listed(one.twice)}, was read twice."
    if one.closed is None or isinstance(one, AxisFound):
        return words
    no_line = one.form is not None and one.form.fold is not None and one.form.fold.axial_dip_deg is None
    why = "its beds turn about no one line, and" if no_line else "on one line across it"
    return f"{words.removesuffix('.')}; {why} {one.closed.value} is not excluded."


def _claim(one: Finding, lengths: Lengths) -> str:
    match one:
        case AxisFound():
            axis = one.axis
            good = "" if axis.sd_deg is None else f", good to {max(1.0, axis.sd_deg):.0f}°"
            closed = one.closed
            good += "" if closed is None else f", unless it is {closed.value}"
            return f"Axis {_arrow(axis.plunge_deg, axis.trend_deg)}{good}; {axis.n} poles scatter {axis.rms_deg:.0f}° about its girdle."
        case AxisOpen():
            return f"Axis not determined: {_lacks(one)}."
        case BedsDip():
            return _dips(one)
        case BedsOverturned():
            return f"Overturned at {_listed(one.readings)}."
        case OneSurface():
            level = one.mean.dip_deg < PRINTS_LEVEL_DEG
            mean = "level" if level else _arrow(one.mean.dip_deg, one.mean.dip_direction_deg)
            return f"Mean {mean}, every reading within {one.off_deg:.1f}° of it: at such dips no single strike means much."
        case OnOneLine():
            plane = one.plane
            return (
                f"{plane.younger}/{plane.older} was met at {len(plane.lines)} places on one line, so its strike and dip stay open: "
                "a place beside that line, or its own strike and dip, would tell how it lies."
            )
        case OneFault():
            read = listed(list(dict.fromkeys(map(contact_words, one.read))))
            far = (
                f"; over more than {lengths.printed(REACH_M)} the map does not join them"
                if one.beyond_reach
                else ""
            )
            return (
                f"Faults at {len(one.contacts)} places are taken for one, in whose plane as read ({read}) they lie; "
                f"several in line with each other are not excluded{far}."
            )
        case FaultSeen():
            return _fault(one, lengths)
        case OpenDiscordance() if one.differ_deg is not None:
            where = listed([address_words(met.booked.address) for met in one.contacts])
            return (
                f"{one.younger} lies unconformably on {one.older}, as booked {where}: the beds nearest to it on its two sides "
                f"lie within {max(1.0, math.ceil(one.differ_deg)):.0f}° of each other."
            )
        case OpenDiscordance():
            return (
                f"{one.younger} lies unconformably on {one.older}; how far their beds differ is open: "
                f"none of {one.lacking} measured{' on the limb below it' if one.elsewhere else ''}."
            )
        case Discordance():
            return _discordance(one)
        case BelowAlone():
            return (
                f"{one.unit} was met in {listed(list(one.hosts))}, below the unconformity, and nowhere above it, in "
                f"{listed(list(one.over), last='or')}."
            )
        case UnitsRepeat():
            return _repeat(one)
        case LaidBare():
            return (
                f"{one.unit} comes again on {one.within}: the ground rises through beds that keep their dip. "
                "An outlier is cut off all round, which the walk does not show."
                if one.younger
                else f"{one.unit} comes again under {one.within}: the ground falls through beds that keep their dip. "
                "An inlier is closed all round, which the walk does not show."
            )
        case UnitsMirrored():
            return _mirrored(one)
        case OverturnedFold():
            return f"An {_name(one.form)}, its overturned limb on the {_point(one.side_deg)}: {_angles(one.form)}."
        case LimbsThick():
            return _thick(one, lengths)
        case Against():
            return _against(one)
        case TurnedBetween():
            return (
                f"Beds are overturned at {_listed(one.named)} and upright at {_listed(one.upright)}, all dip one way: "
                f"a fold between them, or a fault? No order of units tells; {one.decides} would."
            )
        case OneOverturnedLimb():
            return "All beds are overturned: one limb of a fold."
        case Flexed():
            places = ", ".join(f"{bed.dip_deg:.0f}° at {place_words(bed)}" for bed in one.named)
            head = f"Flat, steep, flat with one dip direction and no reversal ({places})"
            if one.form is None:
                return f"{head}: a monocline? Only if the one steep reading, at {one.decides}, holds."
            return f"{head}: a monocline{_unseen(one.way_up)}."
        case EvenDip():
            extent = _extent([bed.dip_deg for bed in one.readings])
            return (
                f"One panel of even dip, {extent}: a homocline as far as it was walked; no limb of a fold seen"
                f"{_unseen(one.way_up)}."
            )
        case Steepening():
            first, last = (f"{bed.dip_deg:.0f}° at {place_words(bed)}" for bed in one.named)
            return f"Beds steepen toward the {_point(one.toward_deg)}, from {first} to {last}, {_no_reversal(one.other_way)}"
        case ManyTurns():
            return f"The dip turns round {one.times} times across the walk: small folds, or readings to look at again?"
        case DipTurns():
            return _turns(one)
        case AllRound():
            way = "toward" if one.form is not None and one.form.kind.hollow else "away from"
            return f"Beds at {len(one.readings)} places all round dip {way} the middle: a {_name(one.form)}."
        case BrokenGround():
            return (
                f"The loop from {one.start} misses by {lengths.said(one.off_m)} and is not adjusted: dips stand, but order, "
                "folds and thicknesses are told of places that may not lie so to each other."
            )
        case _:
            assert_never(one)


def _dips(one: BedsDip) -> str:
    beds = one.readings
    dips = [round(bed.dip_deg) for bed in beds]
    count = count_places(beds)
    places = "one place" if count == 1 else f"{count} places"
    extent = f"{dips[0]}°" if min(dips) == max(dips) else f"{min(dips)}° to {max(dips)}°"
    if one.flat:
        return f"Beds at {places} lie flat or nearly so."
    if one.standing_deg is not None:
        return (
            f"Beds at {places} dip {extent}, upright within their errors, striking {round(one.standing_deg) % 180:03d}°: "
            "to which side they dip says nothing; way-up would."
        )
    if one.toward_deg is None:
        return f"Beds at {places} dip {extent}, in more than one direction."
    sided = one.sided
    told = [bed for bed in sided if bed.dip_deg >= GENTLE_DEG] if one.steep_ones else sided
    way = _ways([bed.dip_direction_deg for bed in told], one.toward_deg)
    others = [_level(one.level_beds)] if one.level_beds else []
    others += (
        [f"{one.upright_ones} {'stands' if one.upright_ones == 1 else 'stand'} upright"]
        if one.upright_ones
        else []
    )
    rest = f"; {' and '.join(others)}" if others else ""
    # Of one place both what dips and what lies level may have been read.
    places = f"{some} of {places}" if others and (some := count_places(sided)) < count else places
    every = "" if len(sided) == 1 else "all "
    steeper = f"steeper than {GENTLE_DEG:.0f}° " if one.steep_ones else ""
    return f"Beds at {places} dip {_extent(bed.dip_deg for bed in sided)}, {every}{steeper}toward the {way}{rest}."


def _level(beds: Sequence[PlaneAttitude]) -> str:
    lie = f"{len(beds)} {'lies' if len(beds) == 1 else 'lie'}"
    most = max(round(bed.dip_deg) for bed in beds)
    return f"{lie} level" if most == 0 else f"{lie} within {most}° of level"


def _fault(one: FaultSeen, lengths: Lengths) -> str:
    where = listed(list(dict.fromkeys(map(contact_words, one.faults))))
    head = f"Fault {'on' if where.startswith('leg') else 'at'} {where}"
    head += ", taken for one" if len(one.faults) > 1 else ""
    own = []
    if one.dip_deg is not None:
        way = one.dip_direction_deg
        own.append("level" if way is None else _arrow(one.dip_deg, way))
    if one.through:
        own[-1] += " by its places"
    own += [f"striations {_arrow(line.plunge_deg, line.trend_deg)}" for line in one.striations]
    head += f" ({', '.join(own)})" if own else ""
    meet = dict.fromkeys((met.younger, met.older) for met in one.faults if met.younger and met.older)
    sides = [f"within {upper}" if upper == lower else f"{upper} against {lower}" for upper, lower in meet]
    head += f", {listed(sides)}" if sides else ""
    found = one.separation
    if found is None:
        lacks = NoSeparation.ONE_SIDE if one.lacks is None else one.lacks
        by = "" if one.differ_deg is None else f" by {one.differ_deg:.0f}°"
        return f"{head}: separation not told, {lacks.value}{by}."
    sense = "" if found.normal is None else "normal " if found.normal else "reverse "
    figure = lengths.with_unit(lengths.plus_minus(found.dip_m, found.sd_m))
    words = f"{head}: {sense}dip separation of {found.younger}/{found.older} {figure}"
    if found.up_deg is None:
        return f"{words}, no more than its errors."
    upright = lengths.with_unit(lengths.plus_minus(found.vertical_m, found.vertical_sd_m))
    words += f" ({upright} of it vertical), {_point(found.up_deg)} side up"
    if found.normal is not None:
        said = (met.booked.movement for met in one.faults)
        booked = next((one for one in said if one and one.down_the_dip is (not found.normal)), None)
        words += "" if booked is None else f", though booked {booked.value}"
    return f"{words}."


def _discordance(one: Discordance) -> str:
    lies = "flat" if one.upper_dip_deg < LEVEL_DEG else f"at {one.upper_dip_deg:.0f}°"
    below = f"{one.lower_dip_deg:.0f}°"
    if one.lower_direction_deg is not None:
        below = _arrow(one.lower_dip_deg, one.lower_direction_deg)
    head = f"{one.younger} lies {lies} over {one.older}, which dips {below}"
    if one.logged:
        here = f" {address_words(one.contacts[0].booked.address)}" if one.elsewhere else ""
        return f"{head}: an unconformity, {one.apart_deg:.0f}° between them{here}."
    return (
        f"{head}: an unconformity or a flat fault, though logged as a plain contact? Look at {one.decides}."
    )


def _repeat(one: UnitsRepeat) -> str:
    head = f"{' and '.join(one.units)} come again in the same order"
    if not one.faults:
        look = "" if one.decides is None else f" Look at {one.decides}."
        return f"{head}: a fault between them that is not logged, or two folds?{look}"
    where = list(dict.fromkeys(address_words(fault.booked.address) for fault in one.faults))
    faults = "fault" if len(where) == 1 else "faults"
    head += f" across the {faults} {' and '.join(where)}"
    if one.runs is Runs.ALONG:
        return f"{head}: repeated by the {faults}."
    if one.runs is Runs.ACROSS and one.beds_strike_deg is not None and one.fault_strike_deg is not None:
        strike = "strikes" if len(where) == 1 else "strike"
        return (
            f"{head}, which {strike} {_strike(one.fault_strike_deg)} across beds that strike {_strike(one.beds_strike_deg)}: "
            f"offset by the {faults}."
        )
    return f"{head}."


def _mirrored(one: UnitsMirrored) -> str:
    head = f"Units in mirrored order ({', '.join(one.order)})"
    ground = ", or the ground, whose heights were not measured" if one.by_the_ground else ""
    sheet = "" if one.body is None else " or an intrusive body"
    unlogged = f"a fault that is not logged{sheet}{ground}? It is no fold."
    fold_or_fault = "a fold or a fault" if one.body is None else "a fold, a fault or an intrusive body"
    toward = "" if one.toward_deg is None else _point(one.toward_deg)
    away = one.toward_deg is not None and any(
        abs(wrap_180(bed.dip_direction_deg - one.toward_deg)) > 90.0 for bed in one.readings
    )
    all_dip = f"{'most' if away else 'all'} beds dip {toward}" if toward else "beds steep or turning"
    kind = one.weighed
    form = "" if kind is None else article(kind.value)
    together = "" if kind is None else f"beds dip {_together(kind)}"
    look = "" if one.decides is None else f" Look at {one.decides}."
    match one.says:
        case Mirror.BODY:
            unit = "" if one.body is None else one.body.unit
            return f"{head}: a fold or a fault, or is {unit} an intrusive body? Look at its borders."
        case Mirror.ONE_SIDE:
            return f"{head}: {fold_or_fault}{ground}? No bed was measured on its {toward} side, where one would tell."
        case Mirror.LEVEL_SIDE:
            return f"{head}, one side level: {form} by the order of units{ground}? One limb hardly dips; beds farther out would tell."
        case Mirror.ONE_SLOPE:
            return f"{head}, one side level, all that dip {toward}: a monocline, {fold_or_fault}{ground}? No bed dips the other way; beds farther out would tell."
        case Mirror.UPRIGHT:
            return f"{head}, beds of one side upright: {fold_or_fault}{ground}? Way-up at {one.decides} would tell."
        case Mirror.FEW:
            return f"{head}, {together}: {form}{ground}? One bed alone, at {one.decides}, says so; a second would tell."
        case Mirror.FOLD:
            return f"{head}, {together}: {form}; {_angles(one.form)}."
        case Mirror.PART_OVERTURNED:
            return f"{head}, {together}, overturned at {_listed(one.named)}: {form}, upside down in part."
        case Mirror.REVERSED:
            core = "oldest" if kind is not None and kind.hollow else "youngest"
            return (
                f"{head}, {together}: {form} with the {core} unit in its core? Either the beds are upside down, "
                f"or the list of units is; {one.decides} would tell."
            )
        case Mirror.WAY_UP_WANTED:
            return f"{head}, {all_dip}: {fold_or_fault}{ground}? {_capital(one.decides)} would tell."
        case Mirror.YOUNG_ONE_WAY:
            return (
                f"{head}, yet beds dip and young one way{f', {toward}' if toward else ''}: {unlogged}{look}"
            )
        case Mirror.ALL_OVERTURNED:
            return f"{head}, {all_dip}, all overturned: {unlogged}{look}"
        case Mirror.CONTRADICTED:
            return (
                f"{head}, but the way-up at {_listed(one.named)} says the reverse of the order of units: "
                "which of them holds? Look at both again."
            )
        case Mirror.OVERTURNED_LIMB:
            return f"{head}, {all_dip}, overturned at {_listed(one.named)}."
        case _:
            assert_never(one.says)


def _thick(one: LimbsThick, lengths: Lengths) -> str:
    thin, thick = lengths.said(one.thin_m), lengths.said(one.thick_m)
    means = ", by the means of the crossings" if one.means else ""
    if one.alike:
        limbs = (
            f"{thin} thick on both limbs"
            if thin == thick
            else f"{thin} thick on one limb and {thick} on the other"
        )
        return f"{one.unit} is {limbs}{means}, alike within the errors, as a fold has it; a fault repeat would not need it."
    return (
        f"{one.unit} is {thin} thick on one limb and {thick} on the other{means}, more apart than the errors."
    )


def _against(one: Against) -> str:
    where = _listed(one.readings)
    if len(one.twice) == len(one.readings):
        bed = (
            f"One bed, at {where}, read twice, dips"
            if len(one.readings) == 1
            else f"Beds at {where}, read twice, each dip"
        )
        small = "a small fold or a fault" if len(one.readings) == 1 else "small folds or faults"
        return f"{bed} against those on both sides, which agree: {small}?"
    if len(one.readings) == 1:
        return (
            f"One bed, at {where}, dips against those on both sides, which agree: a small fold, a fault, or a reading to "
            "look at again?"
        )
    return (
        f"Beds at {where} each dip against those on both sides, which agree: small folds, faults, or readings to look at "
        "again?"
    )


def _no_reversal(other_way: int) -> str:
    if not other_way:
        return "without a reversal: a steepening panel; the other limb is not seen."
    beds = "one bed dips" if other_way == 1 else f"{other_way} beds dip"
    return f"without a sure reversal: a steepening panel; {beds} the other way, within the errors."


def _turns(one: DipTurns) -> str:
    first, last = map(place_words, one.named)
    kind = one.weighed
    where = f"at {first}" if first == last else f"between {first} and {last}"
    head = f"Beds dip {_together(kind)} {where}"
    form = article(kind.value)
    if one.age is FoldAge.ROCK_REVERSED:
        return (
            f"{head}, but the rock between is the wrong way about for {form}: which holds? Way-up would tell."
        )
    if one.over_fault:
        return f"{head}, across a fault: {form} that it cuts, or beds turned by it? Beds on each side of it would tell."
    if one.lone:
        alone = "one bed alone says" if len(one.lone) == 1 else "each by one bed alone"
        there = "" if first == last else f" at {_listed(one.lone)}"
        return f"{head}, {alone}{there}: {form}? A second bed there would tell."
    if one.twice and one.level is Level.POSSIBLE:
        return f"{head}, by one bed at {_listed(one.twice)}, read twice: {form}, or a small fold? Beds farther out would tell."
    match one.age:
        case FoldAge.ROCK:
            word = "younger" if kind.hollow else "older"
            return f"{head}, with {word} rock between: {form}; {_angles(one.form)}."
        case FoldAge.WAY_UP:
            return f"{head} and way-up is seen on both sides: {form}; {_angles(one.form)}."
        case FoldAge.OPEN:
            return f"{head}: {form}; no order of units across it, nor way-up on both limbs, tells its age."
        case _:
            assert_never(one.age)


def _lacks(one: AxisOpen) -> str:
    lacks = one.lacks
    widest = f"{lacks.widest_deg:.0f}°" if lacks.widest_deg is not None else ""
    match lacks.why:
        case NoGirdle.FEW:
            return f"{lacks.n or 'none'} of the {FOLD_BEDS} beds it needs"
        case NoGirdle.ALIKE:
            return f"no two beds lie {FOLD_SPREAD_DEG:.0f}° apart, {widest} at most"
        case NoGirdle.SCATTERED:
            return f"the beds turn about no one line: about the best of all they scatter {lacks.rms_deg or 0.0:.0f}°"
        case NoGirdle.NO_GIRDLE:
            return "the beds spread as much across any girdle as along it"
        case NoGirdle.CONICAL:
            return "the beds keep to a cone better than to a line, as those of a dome or of a fold that dies out do"
        case NoGirdle.ONE_READING:
            at = "" if lacks.farthest is None else f", at {place_words(one.readings[lacks.farthest])}"
            return f"one bed alone{at} lies {FOLD_SPREAD_DEG:.0f}° or more from the rest"
        case NoGirdle.ACROSS_FAULT:
            return "the beds turn across a fault alone"
        case _:
            assert_never(lacks.why)


def rests_on(one: Finding) -> str:
    """Where a finding that more than repeats what was read was read: `4, 8, 12 and leg 14–15`; empty of others."""
    # The sentence of an axis counts its poles.
    if one.level is Level.OBSERVED or isinstance(one, AxisFound):
        return ""
    places = _places(one.readings)
    places = list(dict.fromkeys((*places, *map(contact_words, one.contacts))))
    if len(places) > _MOST_PLACES:
        beds = (
            f"{len(one.readings)} beds from {place_words(one.readings[0])} to {place_words(one.readings[-1])}"
        )
        met = len(one.contacts)
        return beds + (f" and {met} contact{'' if met == 1 else 's'}" if met else "")
    return listed(places) if places else ""


# --- pieces of sentences


def _angles(form: StructuralForm | None) -> str:
    return "" if form is None or form.fold is None else angle_words(form.fold)


def angle_words(fold: Fold) -> str:
    """Angle between the limbs with its error, its word, and the axial surface where there is one; none of limbs that go on turning.

    Source of the words: Fleuty (1964), The description of folds, from memory. Of an angle that two errors carry over the
    limit of two words both are said.
    """
    if fold.sd_deg is None or fold.sd_axial_deg is None:
        return "no angle between its limbs is told: they go on turning, or too few beds of one were read"
    apart, sd = fold.interlimb_deg, fold.sd_deg
    words = list(dict.fromkeys(_fleuty(apart + off) for off in (2.0 * sd, -2.0 * sd)))
    dip, way = fold.axial_dip_deg, fold.axial_dip_direction_deg
    if dip is None:
        axial = ""
    elif way is None:
        axial = f", axial surface {dip:.0f}°"
    elif dip >= 85.0:
        axial = f", axial surface upright, striking {_strike(way - 90.0)}"
    else:
        axial = f", axial surface {_arrow(dip, way)}"
    axial += f", good to {max(1.0, fold.sd_axial_deg):.0f}°" if axial else ""
    return f"limbs {apart:.0f}° ± {max(1.0, sd):.0f}° apart ({' or '.join(words)}){axial}"


def _fleuty(apart_deg: float) -> str:
    words = ("gentle", "open", "close")
    return next(
        (word for word, least in zip(words, INTERLIMB_DEG, strict=True) if apart_deg > least), "tight"
    )


def _name(form: StructuralForm | None) -> str:
    return "" if form is None else form.name


def _together(kind: FormKind) -> str:
    return "toward each other" if kind.hollow else "away from each other"


def _unseen(way_up: bool) -> str:
    return "" if way_up else "; way-up not seen"


def _arrow(down_deg: float, azimuth_deg: float) -> str:
    return f"{down_deg:.0f}° → {round(azimuth_deg) % 360:03d}°"


def _strike(azimuth_deg: float) -> str:
    return f"{round(azimuth_deg) % 180:03d}°"


def _extent(dips_deg: Iterable[float]) -> str:
    """From the least to the most, once where they print alike."""
    every = list(dips_deg)
    return " to ".join(dict.fromkeys(f"{dip:.0f}°" for dip in (min(every), max(every))))


def _point(azimuth_deg: float) -> str:
    return _POINTS[nearest_point(azimuth_deg, points=8)]


def _ways(azimuths_deg: Iterable[float], mean_deg: float) -> str:
    """The points of the compass that azimuths about a mean take, from the first clockwise to the last: `west to north-west`."""
    off = [wrap_180(azimuth - mean_deg) for azimuth in azimuths_deg] or [0.0]
    ends = (_point(mean_deg + min(off)), _point(mean_deg + max(off)))
    return " to ".join(dict.fromkeys(ends))


def _places(beds: Iterable[PlaneAttitude]) -> list[str]:
    """Where beds were read, in the order given."""
    return list(dict.fromkeys(place_words(bed) for bed in beds))


def _listed(beds: Iterable[PlaneAttitude]) -> str:
    return listed(_places(beds))


def _capital(words: str | None) -> str:
    return "" if words is None else f"{words[:1].upper()}{words[1:]}"
