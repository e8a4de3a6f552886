"""Everything computed, as one JSON object for other programs; its keys are told in the reference."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from traverse.angle import wrap_360
from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.location.records import Survey, Vector, WalkAside
from traverse.log.described import described
from traverse.log.items import Elevation, WayUp
from traverse.log.records import Log
from traverse.output.figures import angle, degree, length, significant
from traverse.sheet.said.cautions import cautions_of
from traverse.source import Span
from traverse.structure.form.records import FaultSeen, Limb, Separation
from traverse.structure.readings.records import Attitude, LineAttitude, PlaneAttitude, StrikeAttitude
from traverse.structure.records import Geology
from traverse.structure.section.records import PointKind, Section

Json = dict[str, Any]
JSON_VERSION = 1
"""Of the object: `grammar/growing.md` says what raises it, `grammar/traverse.schema.json` what it holds."""


def write_json(log: Log, trav: Traverse | None, diagnostics: Iterable[Diagnostic]) -> bytes:
    """The object of `as_json` in UTF-8, with two blanks of indent."""
    body = as_json(log, trav, diagnostics)
    return (json.dumps(body, ensure_ascii=False, indent=2, allow_nan=False) + "\n").encode()


def as_json(log: Log, trav: Traverse | None, diagnostics: Iterable[Diagnostic]) -> Json:
    """All records as plain values; without `trav` (a log with errors) their arrays are empty."""
    where = _WrittenAt(log.file)
    survey, geology = (trav.survey, trav.geology) if trav else (None, None)
    return {
        "json": JSON_VERSION,
        "notation": 1,
        "traverse": _heading(log, survey),
        "cautions": _cautions(log, survey, geology),
        "stations": _stations(survey) if survey else [],
        "legs": _legs(survey, where) if survey else [],
        "loops": _loops(survey, where) if survey else [],
        "suspects": _suspects(survey, where) if survey else [],
        "deviations": _deviations(survey) if survey else [],
        "fits": _fits(survey, where) if survey else [],
        "attitudes": _attitudes(geology, survey, where) if geology and survey else [],
        "contacts": _contacts(geology, where) if geology else [],
        "thicknesses": _thicknesses(geology) if geology else [],
        **({"bodies": _bodies(geology)} if geology and geology.bodies else {}),
        **_faults(geology),
        "things": _things(geology, where) if geology else [],
        "elevations": _elevations(log, survey, where) if survey else [],
        "times": _times(log, where) if survey else [],
        "column": _column(geology, where) if geology else [],
        "structure": _structure(geology, where),
        "sections": _sections(geology, where) if geology else [],
        **({"logs": _logs(log, survey)} if log.parties else {}),
        **({"shared": _shared(geology, where)} if log.parties and geology else {}),
        **({"rulings": _rulings(log, where)} if log.rulings else {}),
        "messages": [_message(one, where) for one in diagnostics],
    }


class _WrittenAt:
    """Line of a record, and its file where that is another than the log's."""

    def __init__(self, file: str) -> None:
        self._file = file

    def __call__(self, span: Span) -> Json:
        place: Json = {"line": span.line}
        if span.file != self._file:
            place["file"] = span.file
        return place


def _heading(log: Log, survey: Survey | None) -> Json:
    heading = log.heading
    dates = [day.date.isoformat() for day in heading.days]
    paces = survey.paces if survey else ()
    return {
        "title": heading.title,
        "date": dates[0] if dates else None,
        "dates": dates,
        "party": [{"initials": person.initials, "name": person.name} for person in heading.party],
        "grid": f"EPSG:{heading.epsg}" if heading.epsg is not None else None,
        "pace": {"length": length(paces[0].length_m), "sd": length(paces[0].sd_m)} if paces else None,
        "paces": [
            {
                "who": pace.course.who,
                "kind": pace.course.kind.value if pace.course.kind else None,
                "length": length(pace.length_m),
                "sd": length(pace.sd_m),
            }
            for pace in paces
        ],
        "declination": angle(survey.frame.declination_deg) if survey else None,
        "convergence": angle(survey.frame.convergence_deg) if survey else None,
        "adjustment": survey.done.value if survey else None,
        "heights": survey.heights.value if survey else None,
        "height_datum": heading.heights,
        **(
            {"emergency": {one.kind.value: one.words for one in heading.emergency}}
            if heading.emergency
            else {}
        ),
        "units": [
            {
                "letters": unit.letters,
                "name": unit.name,
                "age": unit.age,
                "colour": unit.colour,
                **({"intrusive": True} if unit.intrusive else {}),
                **({"also": list(unit.also)} if unit.also else {}),
            }
            for unit in log.units
        ],
    }


def _logs(log: Log, survey: Survey | None) -> list[Json]:
    """Whole logs that were brought in; of one that was left out, its walk."""
    aside = {walk.party: walk for walk in survey.aside} if survey else {}
    return [
        {
            "log": one.file,
            "letters": one.letters,
            "title": one.title,
            "party": [{"initials": person.initials, "name": person.name} for person in one.people],
            "stations": [name for name, at in log.first_at.items() if at.span.file == one.file],
            **({"hung": True} if one.hung else {}),
            **({"left_out": _left_out(aside.get(index))} if one.aside else {}),
        }
        for index, one in enumerate(log.parties)
    ]


def _left_out(walk: WalkAside | None) -> Json:
    """A walk as it was walked from the place that it hangs on."""
    if walk is None:
        return {"hangs_on": None, "stations": []}
    return {
        "hangs_on": walk.hangs_on,
        "stations": [
            {"name": name, "east": length(east), "north": length(north)}
            for name, (east, north) in walk.places.items()
        ],
    }


def _shared(geology: Geology, where: _WrittenAt) -> list[Json]:
    """Outcrops that several parties measured, and places that they put in different units."""
    return [
        *(
            {
                "stations": list(dict.fromkeys(two.station for two in one.read)),
                "kind": one.kind.value,
                "agree": not any(one.out),
                "mean": None if one.mean is None else {**_lie(one.mean), "n": one.mean.n},
                "readings": [
                    {**where(two.span), "written": two.written, "off": angle(off), "out": out}
                    for two, off, out in zip(one.read, one.off_deg, one.out, strict=True)
                ],
            }
            for one in geology.shared
        ),
        *(
            {
                "stations": list(one.stations),
                "kind": "unit",
                "agree": False,
                "mean": None,
                "readings": [
                    {**where(two.span), "written": two.letters, "off": None, "out": True}
                    for two in one.booked
                ],
            }
            for one in geology.shared_places
        ),
    ]


def _rulings(log: Log, where: _WrittenAt) -> list[Json]:
    return [
        {
            "station": one.station,
            **where(one.span),
            "written": one.statement,
            "who": one.who,
            "date": one.date.isoformat(),
            "why": one.why,
            "instead_of": list(one.instead_of),
        }
        for one in log.rulings
    ]


def _cautions(log: Log, survey: Survey | None, geology: Geology | None) -> list[Json]:
    section = geology is not None and bool(geology.sections)
    return [{"kind": one.kind.value, "text": one.text} for one in cautions_of(log, survey, section=section)]


def _vector(vector: Vector) -> Json:
    return {"east": length(vector.east_m), "north": length(vector.north_m), "up": length(vector.up_m)}


def _true(grid_deg: float, survey: Survey) -> float | None:
    """A grid azimuth from true north, as all azimuths of the JSON are."""
    return angle(wrap_360(grid_deg + survey.frame.to_true_deg))


def _axis(grid_deg: float, survey: Survey) -> float | None:
    """The same for a line that has no sense, in [0, 180)."""
    azimuth = _true(grid_deg, survey)
    return None if azimuth is None else angle(azimuth % 180.0)


def _stations(survey: Survey) -> list[Json]:
    return [
        {
            "name": place.name,
            "kind": place.kind.value,
            "east": length(place.east_m),
            "north": length(place.north_m),
            "up": length(place.up_m),
            "lon": degree(place.lon_deg),
            "lat": degree(place.lat_deg),
            "sd": {
                "east": length(place.sd_east_m),
                "north": length(place.sd_north_m),
                "up": length(place.sd_up_m),
            },
            "ellipse": None
            if place.ellipse is None
            else {
                "major": length(place.ellipse.major_m),
                "minor": length(place.ellipse.minor_m),
                "azimuth": _axis(place.ellipse.azimuth_deg, survey),
            },
            "standing": place.standing.value,
        }
        for place in survey.places.values()
    ]


def _legs(survey: Survey, where: _WrittenAt) -> list[Json]:
    return [
        {
            "from": leg.booked.start,
            "to": leg.booked.end,
            "kind": leg.booked.kind.value,
            **where(leg.booked.span),
            "azimuth": angle(leg.azimuth_true_deg),
            "horizontal": length(leg.horizontal_m),
            "rise": length(leg.rise_m),
            "raw": _vector(leg.raw),
            "adjusted": _vector(leg.adjusted),
            "standing": leg.standing.value,
        }
        for leg in survey.legs
    ]


def _loops(survey: Survey, where: _WrittenAt) -> list[Json]:
    return [
        {
            **where(closure.span),
            "kind": closure.kind.value,
            "stations": list(closure.stations),
            "length": length(closure.length_m),
            "misclosure": {
                "east": length(closure.misclosure.east_m),
                "north": length(closure.misclosure.north_m),
                "up": length(closure.misclosure.up_m),
                "distance": length(closure.misclosure.distance_m),
                "azimuth": _true(closure.misclosure.azimuth_deg, survey),
            },
            "ratio": significant(closure.ratio),
            "q": significant(closure.q),
            "q_up": significant(closure.q_up),
            "adjusted": closure.adjusted,
        }
        for closure in survey.closures
    ]


def _suspects(survey: Survey, where: _WrittenAt) -> list[Json]:
    return [
        {
            **where(suspect.span),
            "from": suspect.start,
            "to": suspect.end,
            "what": suspect.what,
            "slip": suspect.slip,
            "reading": suspect.reading,
            "misclosure_after": length(suspect.misclosure_after_m),
            "q_after": significant(suspect.q_after),
        }
        for suspect in survey.suspects
    ]


def _deviations(survey: Survey) -> list[Json]:
    return [{"station": one.station, "degrees": angle(one.degrees)} for one in survey.deviations]


def _fits(survey: Survey, where: _WrittenAt) -> list[Json]:
    return [
        {
            "stations": list(fit.stations),
            "rotation": angle(fit.rotation_deg),
            "rotation_sd": angle(fit.rotation_sd_deg),
            "scale": significant(fit.scale),
            "scale_sd": significant(fit.scale_sd),
            "cause": fit.cause,
            **({"log": fit.log, **where(fit.span)} if fit.span is not None else {}),
        }
        for fit in survey.fits
    ]


def _attitudes(geology: Geology, survey: Survey, where: _WrittenAt) -> list[Json]:
    turned = {one.station: -one.degrees for one in survey.deviations}
    return [
        {
            "station": one.station,
            **where(one.span),
            "kind": described(one.booked).row_kind,
            "unit": one.unit,
            "written": one.written,
            **_lie(one),
            "n": one.n,
            "spread": angle(one.spread_deg),
            "turned_for_iron": angle(turned.get(one.place.address.station or "")),
            "tops": _tops(one.tops) if isinstance(one, PlaneAttitude) else None,
            "east": length(one.place.east_m),
            "north": length(one.place.north_m),
            "up": length(one.place.up_m),
        }
        for one in geology.attitudes
    ]


def _lie(one: Attitude) -> Json:
    """Angles of a plane or of a line, the other's null."""
    plane = one if isinstance(one, PlaneAttitude) else None
    line = one if isinstance(one, LineAttitude) else None
    strike = one.strike_deg if isinstance(one, StrikeAttitude) else None
    return {
        "strike": angle(strike if plane is None else plane.course_deg),
        "dip": angle(None if plane is None else plane.dip_deg),
        "dip_direction": angle(None if plane is None or plane.flat else plane.dip_direction_deg),
        "overturned": None if plane is None else plane.overturned,
        "trend": angle(None if line is None else line.trend_deg),
        "plunge": angle(None if line is None else line.plunge_deg),
    }


def _tops(tops: WayUp | None) -> str | None:
    if tops is None:
        return None
    return tops.tops.value if tops.tops else tops.toward.written if tops.toward else None


def _contacts(geology: Geology, where: _WrittenAt) -> list[Json]:
    return [
        {
            **where(contact.booked.span),
            "kind": described(contact.booked).row_kind,
            "younger": contact.younger,
            "older": contact.older,
            "identity": contact.certainty.value if contact.certainty else None,
            "queried": contact.queried,
            "met": contact.met.value,
            "half_width": length(contact.half_width_m),
            "east": length(contact.place.east_m),
            "north": length(contact.place.north_m),
            "up": length(contact.place.up_m),
            "strike": angle(contact.strike_deg),
            "dip": angle(contact.dip_deg),
        }
        for contact in geology.contacts
    ]


def _thicknesses(geology: Geology) -> list[Json]:
    return [
        {
            "unit": one.unit,
            "true": length(one.true_m),
            "sd": length(one.sd_m),
            "between": [span.line for span in one.between],
            "range": {"low": length(one.range_m[0]), "high": length(one.range_m[1])},
            "at_least": one.at_least,
        }
        for one in geology.thicknesses
    ]


def _bodies(geology: Geology) -> list[Json]:
    """Crossings of intrusive bodies, in walking order."""
    return [
        {
            "unit": one.unit,
            "walls": [wall.booked.span.line for wall in one.walls],
            "hosts": [end.host for end in one.ends],
            "strike": angle(one.strike_deg),
            "dip": angle(one.dip_deg),
            "walked": length(one.walked_m),
            "width": length(one.width_m),
            "sd": length(one.width_sd_m),
            "narrow": one.narrow,
        }
        for one in geology.bodies
    ]


def _faults(geology: Geology | None) -> Json:
    """Faults that the walk crossed, in the order of the log; nothing where there are none."""
    seen = [] if geology is None else [one.finding for one in geology.findings]
    rows = [
        {
            "lines": [met.booked.span.line for met in one.faults],
            "dip": angle(one.dip_deg),
            "dip_direction": angle(one.dip_direction_deg),
            "through": one.through,
            "striations": [
                {"line": line.span.line, "trend": angle(line.trend_deg), "plunge": angle(line.plunge_deg)}
                for line in one.striations
            ],
            "separation": None if one.separation is None else _separation(one.separation),
            "lacks": None if one.lacks is None else one.lacks.value,
        }
        for one in seen
        if isinstance(one, FaultSeen)
    ]
    return {"faults": rows} if rows else {}


def _separation(one: Separation) -> Json:
    return {
        "younger": one.younger,
        "older": one.older,
        "dip": length(one.dip_m),
        "vertical": length(one.vertical_m),
        "sd": {"dip": length(one.sd_m), "vertical": length(one.vertical_sd_m)},
        "up": angle(one.up_deg),
        "sense": None if one.normal is None else "normal" if one.normal else "reverse",
    }


def _bodies_on(section: Section) -> list[Json]:
    """Where bodies come out on a section; null where one goes on to its end."""
    return [
        {
            "unit": one.body.unit,
            "sides": [
                None if side is None or not 0.0 <= side.at[0] <= section.length_m else length(side.at[0])
                for side in one.sides
            ],
            "course_known": one.course_known,
        }
        for one in section.bodies
    ]


def _elevations(log: Log, survey: Survey, where: _WrittenAt) -> list[Json]:
    """Heights that were read on the way, beside those that the walk gives for the same places."""
    rows: list[Json] = []
    for one in log.items:
        if not isinstance(one, Elevation):
            continue
        place = survey.at(one.address)
        rows.append(
            {
                "station": one.address.at_or_from,
                **where(one.span),
                "time": one.time.strftime("%H:%M") if one.time is not None else None,
                "height": length(one.height_m),
                "sd": length(one.sd_m),
                "source": one.source,
                "east": length(place.east_m if place is not None else None),
                "north": length(place.north_m if place is not None else None),
                "up": length(place.up_m if place is not None else None),
            }
        )
    return rows


def _times(log: Log, where: _WrittenAt) -> list[Json]:
    """When the party was where."""
    return [
        {
            "station": one.at_or_from,
            **where(one.span),
            "date": one.conditions.date.isoformat() if one.conditions.date is not None else None,
            "time": one.time.strftime("%H:%M"),
        }
        for one in log.addresses
        if one.time is not None
    ]


def _things(geology: Geology, where: _WrittenAt) -> list[Json]:
    rows: list[Json] = []
    for one in geology.things:
        record = one.record
        row = described(record)
        rows.append(
            {
                "station": one.station,
                **where(record.span),
                "kind": row.row_kind,
                "label": getattr(record, row.label) if row.label else None,
                "words": getattr(record, row.words) if row.words else None,
                "azimuth": angle(one.azimuth_deg),
                "east": length(one.place.east_m),
                "north": length(one.place.north_m),
                "up": length(one.place.up_m),
            }
        )
    return rows


def _column(geology: Geology, where: _WrittenAt) -> list[Json]:
    """Units that were met, youngest first, each with its thickness over all crossings and its samples by level."""
    return [
        {
            "unit": unit.unit.letters,
            "true": length(unit.thickness.true_m) if unit.thickness else None,
            "sd": length(unit.thickness.sd_m) if unit.thickness else None,
            "least": length(unit.thickness.least_m) if unit.thickness else None,
            "differs": unit.thickness.differs if unit.thickness else False,
            "base": unit.base.value if unit.base else None,
            "samples": [
                {
                    "label": sample.booked.label,
                    **where(sample.booked.span),
                    "level": length(sample.level_m),
                    "depth": length(sample.depth_m),
                    "share": significant(sample.share),
                    "sd": length(sample.sd_m),
                }
                for sample in unit.samples
            ],
        }
        for unit in geology.column
    ]


def _forms(geology: Geology) -> list[Json]:
    return [
        {
            "name": form.name,
            "sentence": one.words,
            "limbs": [_limb(limb) for limb in form.fold.limbs] if form.fold else [],
            # Of limbs that go on turning no angle is told.
            "interlimb": angle(form.fold.interlimb_deg)
            if form.fold and form.fold.sd_deg is not None
            else None,
            "interlimb_sd": angle(form.fold.sd_deg) if form.fold else None,
            "axial_surface": None
            if form.fold is None or form.fold.axial_dip_deg is None or form.fold.sd_axial_deg is None
            else {
                "dip": angle(form.fold.axial_dip_deg),
                "dip_direction": angle(form.fold.axial_dip_direction_deg),
            },
        }
        for one in geology.recognised
        if (form := one.finding.form) is not None
    ]


def _limb(limb: Limb) -> Json:
    return {
        "dip": angle(limb.dip_deg),
        "dip_direction": angle(limb.dip_direction_deg),
        "overturned": limb.overturned,
        "n": limb.n,
    }


def _findings(geology: Geology, where: _WrittenAt) -> list[Json]:
    return [
        {
            "claim": one.claim,
            "words": one.words,
            "level": one.finding.level.value,
            "form": None if one.finding.form is None else one.finding.form.name,
            "rests_on": [
                *({**where(bed.span), "kind": bed.kind.value} for bed in one.finding.readings),
                *({**where(met.booked.span), "kind": met.kind.value} for met in one.finding.contacts),
            ],
            "places": one.rests_on or None,
            "not_excluded": [other.value for other in one.finding.others],
            "decided_by": one.finding.decides,
        }
        for one in geology.findings
    ]


def _structure(geology: Geology | None, where: _WrittenAt) -> Json:
    mean = geology.bedding_mean if geology else None
    axis = geology.fold_axis if geology else None
    return {
        "bedding_mean": None
        if mean is None
        else {
            "dip": angle(mean.dip_deg),
            "dip_direction": angle(mean.dip_direction_deg),
            "kappa": significant(mean.kappa),
            "alpha95": angle(mean.alpha95_deg),
            "n": mean.n,
        },
        "fold_axis": None
        if axis is None
        else {
            "trend": angle(axis.trend_deg),
            "plunge": angle(axis.plunge_deg),
            "rms": angle(axis.rms_deg),
            "sd": angle(axis.sd_deg),
            "n": axis.n,
        },
        "planes": [
            {
                "younger": plane.younger,
                "older": plane.older,
                "strike": angle(plane.strike_deg),
                "dip": angle(plane.dip_deg),
                "sd": {"strike": angle(plane.sd_strike_deg), "dip": angle(plane.sd_dip_deg)},
                "chi_square": significant(plane.chi_square),
                "freedom": plane.freedom,
                "carried": plane.carried,
                "lines": [span.line for span in plane.lines],
            }
            for plane in (geology.planes if geology else ())
        ],
        "findings": _findings(geology, where) if geology else [],
        "forms": _forms(geology) if geology else [],
        "sentences": [one.words for one in geology.findings] if geology else [],
    }


def _sections(geology: Geology, where: _WrittenAt) -> list[Json]:
    rows: list[Json] = []
    for section in geology.sections:
        if section.booked is None:
            continue
        rows.append(
            {
                "name": section.name,
                **where(section.booked.span),
                "azimuth": angle(section.azimuth_deg),
                "length": length(section.length_m),
                "projection": section.projection.value,
                "exaggeration": significant(section.exaggeration),
                "limits": [
                    {"code": one.code, "text": one.sentence.replace("\xa0", " ")} for one in section.limits
                ],
                "reliefs": [
                    {
                        "younger": one.younger,
                        "older": one.older,
                        "high": length(one.high_m),
                        "low": length(one.low_m),
                        "at_least": one.at_least,
                    }
                    for one in geology.reliefs
                    if one.section == section.name
                ],
                "points": [
                    {
                        **where(point.span),
                        "what": point.attitude.kind.value
                        if point.kind is PointKind.ATTITUDE and point.attitude
                        else point.kind.value,
                        "label": point.label,
                        "distance": length(point.distance_m),
                        "sd": length(point.sd_m),
                        "carried": length(point.carried_m),
                        "up": length(point.up_m),
                        "apparent_dip": angle(point.apparent_dip_deg),
                    }
                    for point in section.points
                ],
                "lines": _lines_on(section),
                **({"bodies": _bodies_on(section)} if section.bodies else {}),
            }
        )
    return rows


def _lines_on(section: Section) -> list[Json]:
    """Contacts as they are constructed by dip domains: where they come out, and what they may be off by."""
    return [
        {
            "younger": line.younger,
            "older": line.older,
            "lines": [one.booked.span.line for one in line.contacts],
            "outcrops": [{"distance": length(at_m), "up": length(up_m)} for at_m, up_m in line.outcrops],
            "distance": length(line.error.at[0]),
            "up": length(line.error.at[1]),
            "sd": length(line.error.sd_m),
            "angle_sd": angle(line.error.sd_deg),
        }
        for line in section.construction.lines
        if line.error is not None
    ]


def _message(one: Diagnostic, where: _WrittenAt) -> Json:
    place: Json = {"line": None} if one.span is None else where(one.span)
    return {
        "severity": one.kind,
        **place,
        "column": one.span.column if one.span else None,
        "text": one.message,
        "code": one.code,
        "hints": list(one.hints),
        "answer": None if one.answer is None else {"who": one.answer.who, "why": one.answer.why},
    }
