"""Tables for a spreadsheet: comma-separated, UTF-8, one header line, as RFC 4180 has it."""

from __future__ import annotations

import csv
import io
from typing import Any

from traverse.ground.records import Traverse
from traverse.output.json_file import Json, as_json
from traverse.sheet.paper.words import plain
from traverse.sheet.said.cautions import Caution, cautions_of
from traverse.sheet.said.sentences import RULES, grid_words

ABOUT = "about"
"""The table that says whose figures the others are, and what they are not for."""
TABLES = (
    ABOUT,
    "stations",
    "legs",
    "loops",
    "attitudes",
    "contacts",
    "thicknesses",
    "things",
    "elevations",
    "times",
)
"""What they are about, then arrays of the JSON that make a table each; nested keys are joined, `sd` and `east` to `sd_east`."""

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes a cell that begins so for a formula."""


def write_csv(table: str, trav: Traverse) -> bytes:
    """One table of `TABLES`, with the same values and digits as the JSON."""
    rows = _about(trav) if table == ABOUT else [_flat(row) for row in as_json(trav.log, trav, ())[table]]
    columns = list(dict.fromkeys(key for row in rows for key in row))
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(columns or ["line"])
    writer.writerows([cell(row.get(column)) for column in columns] for row in rows)
    return text.getvalue().encode()


def _about(trav: Traverse) -> list[Json]:
    """A row for each thing, and one for each caution."""
    heading, survey = trav.log.heading, trav.survey
    told: list[tuple[str, str]] = [
        ("title", plain(heading.title or "")),
        *(("date", day.date.isoformat()) for day in heading.days),
        *(("party", plain(person.name or person.initials)) for person in heading.party),
        ("grid", grid_words(survey.frame)),
        ("heights", plain(heading.heights or "") or "datum not stated"),
        ("adjusted", RULES[survey.done]),
        *((one.kind.value, one.text) for one in _cautions(trav)),
    ]
    return [{"what": what, "words": words} for what, words in told if words]


def _cautions(trav: Traverse) -> tuple[Caution, ...]:
    return cautions_of(trav.log, trav.survey, section=bool(trav.geology.sections))


def _flat(row: Json) -> Json:
    flat: Json = {}
    for key, value in row.items():
        if isinstance(value, dict):
            flat.update({f"{key}_{inner}": part for inner, part in _flat(value).items()})
        else:
            flat[key] = value
    return flat


def cell(value: Any) -> Any:
    """Figures as they are; text that a spreadsheet would run is kept from it by an apostrophe.

    >>> cell("=1+1"), cell(-3.5), cell(["1", "2"]), cell(None), cell(True)
    ("'=1+1", -3.5, '1 2', None, 'true')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        value = " ".join(str(part) for part in value)
    if isinstance(value, str) and value.startswith(_FORMULA):
        return "'" + value
    return value
