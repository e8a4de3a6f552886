"""Logs held against a key, as JSON: an array, one object a log."""

from __future__ import annotations

import json
from collections.abc import Sequence

from traverse.compare.records import Comparison, ContactPair, PartMarks, Scheme
from traverse.diagnostic import Diagnostic, Severity
from traverse.log.items import PlaneKind
from traverse.output.figures import angle, length, significant
from traverse.output.json_file import Json
from traverse.record import record
from traverse.source import Span


@record(frozen=True, slots=True, kw_only=True)
class Compared:
    """A log and what came of it."""

    name: str
    """Or its id."""
    comparison: Comparison | None
    """None where the log has errors, or nothing in common with the key."""
    diagnostics: tuple[Diagnostic, ...] = ()
    problem: str | None = None
    """Why there is no comparison."""


def comparison_json(compared: Sequence[Compared], scheme: Scheme) -> bytes:
    """The array in UTF-8, in the order of the logs."""
    body = [_object(one, scheme) for one in compared]
    return (json.dumps(body, ensure_ascii=False, indent=2, allow_nan=False) + "\n").encode()


def _object(one: Compared, scheme: Scheme) -> Json:
    found = one.comparison
    standing = found.standing if found else None
    return {
        "log": one.name,
        "problem": one.problem,
        "scheme": {"name": scheme.name, "by": scheme.by},
        "causes": _causes(found) if found else [],
        "legs": [
            {**_at(leg.span, found), "from": leg.start, "to": leg.end, "off": length(leg.off_m)}
            for leg in found.apart
        ]
        if found
        else [],
        "ways": _ways(found) if found else [],
        "fit": None
        if standing is None or standing.fit is None
        else {
            "rotation": angle(standing.fit.rotation_deg),
            "rotation_sd": angle(standing.fit.rotation_sd_deg),
            "scale": significant(standing.fit.scale),
            "scale_sd": significant(standing.fit.scale_sd),
            "stations": standing.fit.n,
        },
        "pairs": _pairs(found) if found else [],
        "alone": list(standing.alone) if standing else [],
        "missed": list(standing.missed) if standing else [],
        "attitudes": _attitudes(found) if found else [],
        "contacts": _contacts(found.standing.contacts, found) if found else [],
        "between": _contacts(found.standing.between, found) if found else [],
        "elsewhere": [{"younger": one.younger, "older": one.older} for one in standing.elsewhere]
        if standing
        else [],
        "units_not_in_key": [
            {**_at(one.span, found), "letters": one.letters, "name": one.name, "may_be": one.meant}
            for one in found.standing.unlisted
        ]
        if found
        else [],
        "marks": _marks(found) if found else [],
        "notes": list(found.notes) if found else [],
        "messages": [
            {
                "line": said.span.line if said.span else None,
                "column": said.span.column if said.span else None,
                "text": said.message,
            }
            for said in one.diagnostics
            if said.severity is Severity.ERROR
        ],
    }


def _at(span: Span, found: Comparison) -> Json:
    called = found.files.get(span.file)
    return {"line": span.line, **({"file": called} if called is not None else {})}


def _line(span: Span | None, found: Comparison) -> Json:
    """The same of what may have no line."""
    return {"line": None} if span is None else _at(span, found)


def _ways(found: Comparison) -> list[Json]:
    """Ways over stops of its own that are off as a whole, and single slips that would explain each."""
    return [
        {
            "stops": list(way.stops),
            "key": list(way.key),
            "lines": [span.line for span in way.spans],
            "off": length(way.off_m),
            "expected": length(way.expected_m),
            "may_be": [
                {
                    **_at(one.span, found),
                    "from": one.start,
                    "to": one.end,
                    "slip": one.slip,
                    "reading": one.reading,
                }
                for one in way.may_be
            ],
        }
        for way in found.ways
    ]


def _causes(found: Comparison) -> list[Json]:
    return [
        {
            **_at(cause.span, found),
            "cause": cause.cause,
            "text": cause.text,
            "reading": cause.reading,
            "not_excluded": list(cause.not_excluded),
        }
        for cause in found.causes
    ]


def _attitudes(found: Comparison) -> list[Json]:
    return [
        {
            "station": pair.station,
            **_line(None if pair.log is None else pair.log.span, found),
            "kind": pair.key.kind.value,
            "pole_angle": angle(pair.pole_deg),
        }
        for pair in found.standing.attitudes
    ]


def _contacts(pairs: Sequence[ContactPair], found: Comparison) -> list[Json]:
    return [
        {
            **_line(None if pair.log is None else pair.log.booked.span, found),
            "younger": pair.key.younger,
            "older": pair.key.older,
            "moved": length(pair.moved_m),
        }
        for pair in pairs
    ]


def _pairs(found: Comparison) -> list[Json]:
    widest: dict[str, float] = {}
    for one in found.standing.attitudes:
        if one.pole_deg is not None and one.key.kind is PlaneKind.BED and one.key.place.address.station:
            widest[one.station] = max(one.pole_deg, widest.get(one.station, 0.0))
    return [
        {
            "station": pair.station,
            "key": pair.key,
            "by": pair.by.value,
            **_at(pair.span, found),
            "moved": length(pair.moved_m),
            "shape": length(pair.shape_m),
            "pole_angle": angle(widest.get(pair.station)),
        }
        for pair in found.standing.pairs
    ]


def _marks(found: Comparison) -> list[Json]:
    mended = {one.part: one for one in found.marks_mended}
    return [
        {
            "part": part.part.value,
            "of": part.of,
            "scored": significant(part.scored),
            "scored_mended": significant(mended.get(part.part, part).scored),
            "items": _items(part, found),
        }
        for part in found.marks
    ]


def _items(part: PartMarks, found: Comparison) -> list[Json]:
    return [
        {
            "what": item.what,
            **_line(item.span, found),
            "grade": item.grade.value,
            "credit": significant(item.credit),
            "weight": item.weight,
            "note": item.note or None,
        }
        for item in part.items
    ]
