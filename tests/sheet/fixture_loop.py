"""A folded valley as records built by hand: Hollin Dale, a loop of 17 legs and a side shot. All of it is invented."""

from __future__ import annotations

import datetime as dt
import math

from traverse.location import records as loc
from traverse.log import items as as_met
from traverse.log import readings as as_read
from traverse.log import records as book
from traverse.source import Span
from traverse.structure.form.records import AxisFound, Told
from traverse.structure.readings.records import FoldAxis, MeanBedding, Placed, PlacedContact, PlaneAttitude
from traverse.structure.records import Geology
from traverse.structure.section.records import PointKind, ProfilePoint, Section, SectionPoint
from traverse.structure.thickness.records import Thickness, UnitThickness
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.unit_at import station_units

FILE = "hollin.trav"
_line = 0

AXIS = FoldAxis(trend_deg=187.0, plunge_deg=8.0, rms_deg=2.0, n=13)


def span():
    """The next line of a log that nobody typed."""
    global _line  # noqa: PLW0603
    _line += 1
    return Span(FILE, _line, 1, 10)


DECLINATION = as_read.Declination(
    value_deg=4.1, year=2026, change_deg=None, source="survey chart", span=span()
)
COURSE = as_read.PaceCourse(
    who="TB",
    kind=as_read.PaceKind.DOUBLE,
    length_m=None,
    course_m=100.0,
    counts=(65, 66, 65, 66),
    span=span(),
)
CONDITIONS = as_read.Conditions(
    date=dt.date(2026, 7, 14),
    bearings=as_read.North.MAGNETIC,
    declination=DECLINATION,
    convention=as_read.Convention.DIP_RIGHT,
    attitudes_from=as_read.North.MAGNETIC,
    pace=COURSE,
)
UNITS = tuple(
    book.RockUnit(letters=letters, name=name, age=age, colour=None, span=span())
    for letters, name, age in (
        ("Qa", "Alluvium", "Quaternary"),
        ("Kp", "Pellow Marl", "Lower Cretaceous"),
        ("Jq", "Quarne Limestone", "Upper Jurassic"),
        ("Jd", "Dunsel Shale", "Lower Jurassic"),
        ("Tv", "Tavisk Sandstone", "Middle Triassic"),
    )
)
LEGS = """
1 2 011 192 +1 36
2 3 056 234 -7 36
3 4 076 256 -9 33
4 5 113 292 -15 28
5 6 068 250 -9 33
6 7 089 271 +4 37
7 8 073 254 +8 27
8 9 102 281 +12 36
9 10 135 317 +9 43
10 11 175 355 0 36
11 12 244 066 -9 59
12 13 259 079 -10 38
13 14 281 104 -11 36
14 15 241 059 -2 26
15 16 254 073 +8 36
16 17 285 107 +16 43
17 1 322 141 +11 47
"""
STATIONS = """
1 358 314 1168 Tv 178/72 o - red-brown sandstone, cross-bedded
2 371 367 1169 Tv - - - sandstone blocks in soil; not measured
3 417 396 1162 Tv 182/69 o graded sandstone, graded beds 20–40 cm
4 466 406 1154 Jd 180/69 o - dark fissile shale, silt partings
5 503 388 1143 Jq 183/74 o - pale limestone, thick-bedded; shell band
6 550 404 1135 Qa - - - terrace gravel, cobbles of Tv and Jq
7 606 401 1139 Jd 176/35 - - shale, weathered, rusty
8 645 410 1145 Jd 173/35 - graded shale with graded silt beds
9 697 397 1156 Tv 169/36 - - sandstone, top of ledge
10 739 348 1166 Tv 168/35 - - sandstone, medium to coarse
11 741 293 1166 Tv - - - grass; sandstone float, not measured
12 658 260 1152 Jd 174/36 - cross-beds shale, ripple cross-bedded silts
12a 652 296 1150 Jd 179/36 - - shale in gully
13 601 252 1141 Jq 170/40 - - limestone, nodular
14 548 267 1131 Kp 172/35 - - grey soft marl, 5 cm limestone beds
15 513 249 1129 Qa - - - alluvial sand and gravel
16 459 236 1137 Jd 181/73 o - black shale, slickensided
17 399 257 1155 Tv 180/73 o cross-beds sandstone, cross-beds concave east
"""
CONTACTS = """
3 4 28 Jd Tv certain
4 5 15 Jq Jd certain
5 6 4 Kp Jq certain
6 7 1 Kp Jq concealed
6 7 31 Jq Jd inferred
8 9 10 Jd Tv certain
9 10 10 Tv Jd approximate fault
9 10 22 Jd Tv certain
11 12 9 Jd Tv certain
12 13 27 Jq Jd approximate
13 14 28 Kp Jq certain
15 16 12 Kp Jq certain
15 16 28 Jq Jd certain
16 17 12 Jd Tv certain
"""


def distance(value, unit=as_read.Unit.PACES):
    return as_read.Distance(value=float(value), unit=unit, written=f"{value:g}p", span=span())


def bearing(azimuth, written=None):
    return as_read.Bearing(azimuth_deg=float(azimuth), written=written or f"{azimuth:03.0f}", span=span())


def make(*, title="Hollin Dale, loop 2: overturned syncline of Hollin Beck", heights=True, sections=True):
    """Log, survey and geology of the loop."""
    global _line  # noqa: PLW0603
    _line = 100
    rows = [line.split() for line in STATIONS.strip().splitlines()]
    places, items, addresses, placed_addresses, attitudes, things = {}, [], [], [], [], []

    def address(station=None, leg=None, start=None, at=None, sd=2.0):
        one = as_met.Address(
            station=station, leg=leg, start=start, index=len(addresses), conditions=CONDITIONS, span=span()
        )
        addresses.append(one)
        where = loc.PlacedAddress(
            address=one,
            east_m=at[0],
            north_m=at[1],
            up_m=at[2] if heights else None,
            half_width_m=None,
            sd_m=sd,
            leg_azimuth_deg=None,
        )
        placed_addresses.append(where)
        return one, where

    for number, row in enumerate(rows):
        name, east, north, up, unit, written, overturned, tops, *words = row
        at = (612000.0 + float(east), 5214000.0 + float(north), float(up))
        held = name == "1"
        sd = 0.0 if held else 1.0 + 0.1 * min(number, 17 - number)
        places[name] = loc.Place(
            name=name,
            kind=loc.PlaceKind.CONTROL
            if held
            else loc.PlaceKind.SIDE
            if name == "12a"
            else loc.PlaceKind.WALKED,
            east_m=at[0],
            north_m=at[1],
            up_m=at[2] if heights else None,
            raw=loc.Vector(
                east_m=at[0] + 0.36 * number, north_m=at[1] - 0.07 * number, up_m=at[2] + 0.1 * number
            ),
            sd_east_m=sd,
            sd_north_m=sd,
            sd_up_m=sd if heights else None,
            ellipse=loc.Ellipse(major_m=sd + 0.3, minor_m=sd, azimuth_deg=80.0) if sd else None,
        )
        one, where = address(station=name, at=at)
        here = as_met.UnitHere(address=one, letters=unit, queried=False, span=span())
        items.append(here)
        things.append(Placed(record=here, place=where, station=name))
        if written != "-":
            strike, dip = (float(part) for part in written.split("/"))
            reading = as_read.PlaneReading(
                strike_deg=strike, dip_deg=dip, overturned=overturned == "o", written=written, span=span()
            )
            words_written = written + (" overturned" if overturned == "o" else "")
            bed = as_met.Planes(
                address=one,
                kind=as_met.PlaneKind.BED,
                readings=(reading,),
                written=words_written,
                conditions=CONDITIONS,
                span=span(),
            )
            items.append(bed)
            way = None
            if tops != "-":
                way = as_met.WayUp(
                    address=one,
                    tops=None,
                    toward=bearing(90),
                    words=tops + " beds",
                    conditions=CONDITIONS,
                    span=span(),
                )
                items.append(way)
            attitudes.append(
                PlaneAttitude(
                    booked=bed,
                    place=where,
                    station=name,
                    kind=as_met.PlaneKind.BED,
                    written=words_written,
                    order=items.index(bed),
                    unit=None,
                    dip_deg=dip,
                    dip_direction_deg=strike + 94.1,
                    overturned=overturned == "o",
                    sd_deg=2.0,
                    tops=way,
                    span=bed.span,
                )
            )
        rock = as_met.Words(address=one, kind=as_met.WordsKind.ROCK, text=" ".join(words), span=span())
        items.append(rock)
        things.append(Placed(record=rock, place=where, station=name))
        extra = {
            "3": as_met.Photo(
                address=one,
                number="0412",
                looking=bearing(140),
                words=None,
                conditions=CONDITIONS,
                span=span(),
            ),
            "5": as_met.Sample(address=one, label="IV-01", words="shell band", span=span()),
            "8": as_met.Words(
                address=one, kind=as_met.WordsKind.HAZARD, text="loose blocks above the path", span=span()
            ),
            "14": as_met.Words(
                address=one, kind=as_met.WordsKind.HAZARD, text="ford: deep and fast after rain", span=span()
            ),
            "17": as_met.Sample(address=one, label="IV-02", words=None, span=span()),
            "10": as_met.Words(address=one, kind=as_met.WordsKind.NOTE, text="marker cairn", span=span()),
        }.get(name)
        if extra is not None:
            items.append(extra)
            things.append(Placed(record=extra, place=where, station=name))

    booked, legs = [], []
    for row in [
        *(line.split() for line in LEGS.strip().splitlines()),
        ["12", "12a", "348", None, "-3", "24"],
    ]:
        start, end, fore, back, slope, paces = row
        kind = (
            as_met.LegKind.SIDE if end == "12a" else as_met.LegKind.CLOSE if end == "1" else as_met.LegKind.TO
        )
        leg = as_met.Leg(
            kind=kind,
            start=start,
            end=end,
            bearing=bearing(float(fore)),
            distance=distance(float(paces)),
            slope=as_read.Slope(
                value=float(slope), kind=as_read.SlopeKind.DEGREES, written=slope, span=span()
            )
            if heights
            else None,
            horizontal=False,
            sd_m=None,
            back_bearing=bearing(float(back)) if back else None,
            back_slope=None,
            conditions=CONDITIONS,
            span=span(),
            end_span=span(),
            index=len(booked),
        )
        booked.append(leg)
        first, last = places[start], places[end]
        ground = float(paces) * 1.527
        rise = ground * math.sin(math.radians(float(slope)))
        level = math.hypot(last.east_m - first.east_m, last.north_m - first.north_m)
        adjusted = loc.Vector(
            east_m=last.east_m - first.east_m, north_m=last.north_m - first.north_m, up_m=rise
        )
        legs.append(
            loc.PlacedLeg(
                booked=leg,
                azimuth_true_deg=(float(fore) + 4.1) % 360,
                ground_m=ground,
                horizontal_m=level,
                rise_m=rise if heights else 0.0,
                slope_known=heights,
                fore_back_deg=(float(fore) - float(back) + 360.0) % 360.0 - 180.0 if back else None,
                bearing_sd_deg=1.0,
                distance_sd_m=0.02 * ground,
                raw=loc.Vector(east_m=adjusted.east_m + 0.36, north_m=adjusted.north_m - 0.07, up_m=rise),
                adjusted=adjusted,
            )
        )
    by_ends = {(leg.start, leg.end): leg for leg in booked}
    contacts = []
    band = {index: [] for index in range(len(booked))}
    for row in CONTACTS.strip().splitlines():
        start, end, paces, younger, older, how, *fault = row.split()
        leg = by_ends[start, end]
        share = float(paces) / leg.distance.value
        a, b = places[start], places[end]
        up = a.up_m + share * (b.up_m - a.up_m) if heights else None
        at = (a.east_m + share * (b.east_m - a.east_m), a.north_m + share * (b.north_m - a.north_m), up)
        one, where = address(leg=leg, start=distance(float(paces)), at=at)
        plane = (
            as_read.PlaneReading(strike_deg=11.0, dip_deg=68.0, written="011/68", span=span())
            if fault
            else None
        )
        contact = as_met.Contact(
            address=one,
            kind=as_met.ContactKind.FAULT if fault else as_met.ContactKind.CONTACT,
            younger=younger,
            older=older,
            named=(younger, older),
            certainty=as_met.Certainty(how),
            queried=False,
            plane=plane,
            sd_m=None,
            down=bearing(90, "E") if fault else None,
            conditions=CONDITIONS,
            span=span(),
        )
        items.append(contact)
        near = "176/35" if float(at[0]) > 612540 else "181/72"
        strike, dip = (float(part) for part in near.split("/"))
        contacts.append(
            PlacedContact(
                order=items.index(contact),
                booked=contact,
                place=where,
                kind=contact.kind,
                younger=younger,
                older=older,
                certainty=contact.certainty,
                queried=False,
                half_width_m=9.0 if how == "inferred" else None,
                sd_m={"certain": 3.0, "approximate": 8.0, "inferred": 10.0, "concealed": 14.0}[how],
                strike_deg=15.0 if fault else None,
                dip_deg=68.0 if fault else None,
                course_deg=strike + 4.1,
            )
        )
        band[leg.index].append((share, contact))
    stretches = []
    units = {row[0]: row[4] for row in rows}
    for leg in booked:
        a, b = places[leg.start], places[leg.end]
        cuts = [0.0, *(share for share, _ in band[leg.index]), 1.0]
        unit = units[leg.start]
        for index in range(len(cuts) - 1):
            if index:
                contact = band[leg.index][index - 1][1]
                unit = contact.older if unit == contact.younger else contact.younger
            ends = [
                (a.east_m + s * (b.east_m - a.east_m), a.north_m + s * (b.north_m - a.north_m))
                for s in (cuts[index], cuts[index + 1])
            ]
            stretches.append(
                BandStretch(
                    start=ends[0],
                    end=ends[1],
                    leg=leg.index,
                    start_share=cuts[index],
                    end_share=cuts[index + 1],
                    unit=unit,
                    covered=False,
                )
            )
    first, last = (612330.0, 5214346.0), (612766.0, 5214301.0)
    length = math.dist(first, last)
    heading = math.degrees(math.atan2(last[0] - first[0], last[1] - first[1]))
    ux, uy = (last[0] - first[0]) / length, (last[1] - first[1]) / length
    points = []

    def carried(kind, item_span, label, at, *, strike=None, dip=None, attitude=None, contact=None):
        dx, dy = at.east_m - first[0], at.north_m - first[1]
        left = dx * -uy + dy * ux
        apparent = None
        if strike is not None:
            apparent = math.degrees(
                math.atan(math.tan(math.radians(dip)) * math.cos(math.radians(heading - strike - 90)))
            )
        shift = -left * 0.141 * 0.5 if heights else 0.0
        points.append(
            SectionPoint(
                kind=kind,
                span=item_span,
                label=label,
                distance_m=dx * ux + dy * uy,
                up_m=at.up_m + shift if at.up_m is not None else None,
                carried_m=-left,
                apparent_dip_deg=apparent,
                attitude=attitude,
                contact=contact,
            )
        )

    for attitude in attitudes:
        carried(
            PointKind.ATTITUDE,
            attitude.span,
            attitude.station,
            attitude.place,
            strike=attitude.strike_deg,
            dip=attitude.dip_deg,
            attitude=attitude,
        )
    for contact in contacts:
        carried(
            PointKind(contact.kind.value),
            contact.booked.span,
            f"{contact.younger}/{contact.older}",
            contact.place,
            strike=contact.strike_deg if contact.strike_deg is not None else contact.course_deg,
            dip=contact.dip_deg or (35.0 if contact.place.east_m > 612540 else 72.0),
            contact=contact,
        )
    profile = []
    edges = [
        (0, "Tv"),
        (125, "Jd"),
        (158, "Jq"),
        (180, "Kp"),
        (200, "Qa"),
        (222, "Kp"),
        (240, "Jq"),
        (280, "Jd"),
        (335, "Tv"),
        (368, "Jd"),
        (390, "Tv"),
    ]
    for number in range(0, 439, 5):
        unit = [name for start, name in edges if start <= number][-1]
        up = 1133.0 + 43.0 * ((number - 210.0) / 210.0) ** 2 * (1.0 if number < 210 else 0.85)
        profile.append(ProfilePoint(distance_m=float(number), up_m=up, unit=unit))
    section = Section(
        booked=None,
        name="A-A'",
        first_letter="A",
        last_letter="A′",
        line=(first, last),
        azimuth_deg=heading + 1.1,
        grid_azimuth_deg=heading,
        length_m=length,
        projection=book.Projection.PLUNGE,
        exaggeration=1.0,
        depth_m=None,
        profile=tuple(profile) if heights else (),
        points=tuple(points),
    )
    thick = [
        Thickness(unit=unit, true_m=true, sd_m=sd, between=(contacts[a].booked.span, contacts[b].booked.span))
        for unit, true, sd, a, b in (
            ("Jq", 24.0, 5.0, 1, 2),
            ("Jq", 24.0, 11.0, 3, 4),
            ("Jq", 24.0, 5.0, 9, 10),
            ("Jd", 29.0, 5.0, 0, 1),
            ("Jd", 29.0, 7.0, 4, 5),
        )
    ]
    loop_legs = tuple(leg for leg in booked if leg.kind is not as_met.LegKind.SIDE)
    closure = loc.Closure(
        kind=loc.LoopKind.LOOP,
        span=loop_legs[-1].span,
        stations=tuple(leg.start for leg in loop_legs),
        legs=loop_legs,
        length_m=949.0,
        misclosure=loc.Misclosure(
            east_m=6.0, north_m=-1.2, up_m=1.6 if heights else None, distance_m=6.12, azimuth_deg=101.3
        ),
        ratio=155.0,
        expected_m=6.0,
        covariance_m2=((20.0, 2.0), (2.0, 14.0)),
        sd_up_m=4.0,
        q=2.1,
        q_up=0.2 if heights else None,
        adjusted=True,
        adjusted_up=heights,
    )
    log = book.Log(
        file=FILE,
        heading=book.Heading(
            title=title,
            days=(book.Day(date=dt.date(2026, 7, 14), weather="dry, wind light"),),
            party=tuple(
                book.Person(initials=initials, name=name, span=span())
                for initials, name in (("AV", "Ada Venning"), ("TB", "Tomas Brack"), ("NJ", "Noor Jansen"))
            ),
            weather=("dry, wind light",),
            epsg=25832,
            first=CONDITIONS,
            heights="metres, from control 1",
        ),
        units=UNITS,
        controls=(
            book.Control(
                name="1",
                east_m=612358.0,
                north_m=5214314.0,
                lat_deg=None,
                lon_deg=None,
                sd_plan_m=6.0,
                height_m=1168.0,
                sd_height_m=6.0,
                source="GPS",
                written="612358 E 5214314 N 1168 m ±6 GPS",
                span=span(),
            ),
        ),
        paces=(COURSE,),
        stations=tuple(row[0] for row in rows),
        legs=tuple(booked),
        addresses=tuple(addresses),
        items=tuple(items),
    )
    survey = loc.Survey(
        frame=loc.Frame(
            epsg=25832,
            name="ETRS89 / UTM zone 32N",
            local=False,
            convergence_deg=-1.1,
            declination_deg=4.1,
            declination_note="survey chart, 2026",
        ),
        paces=(loc.PaceLength(course=COURSE, length_m=1.527, sd_m=0.006),),
        places=places,
        legs=tuple(legs),
        addresses=tuple(placed_addresses),
        closures=(closure,),
        rule=book.Rule.COMPASS,
        anyway=None,
        heights=loc.HeightsMeasured.MEASURED if heights else loc.HeightsMeasured.NONE,
        control_sd_m=6.0,
        common_control=log.controls[0],
    )
    geology = Geology(
        attitudes=tuple(attitudes),
        contacts=tuple(contacts),
        things=tuple(things),
        band=tuple(stretches),
        station_units=station_units(log, tuple(stretches)),
        thicknesses=tuple(thick),
        unit_thicknesses=tuple(_by_unit(thick)),
        bedding_mean=MeanBedding(dip_deg=50.0, dip_direction_deg=271.0, kappa=9.0, alpha95_deg=14.0, n=13),
        fold_axis=AXIS,
        findings=(Told(finding=AxisFound(axis=AXIS), words="Axis 8° → 187°, rms 2°, 13 poles."),),
        planes=(),
        sections=(section,) if sections else (),
    )
    return log, survey, geology


def _by_unit(thick):
    """Mean weighted by 1/sd² of each unit's crossings."""
    for unit in dict.fromkeys(one.unit for one in thick):
        mine = [one for one in thick if one.unit == unit]
        weight = sum(one.sd_m**-2 for one in mine)
        yield UnitThickness(
            unit=unit,
            true_m=sum(one.true_m * one.sd_m**-2 for one in mine) / weight,
            sd_m=weight**-0.5,
            range_m=(min(one.true_m for one in mine), max(one.true_m for one in mine)),
            n=len(mine),
            least_m=None,
        )
