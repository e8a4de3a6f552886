"""The page of a season: one HTML file that needs no network, with the map, the tables and a day's figures beside them.

Words of a log are data. In the markup they are escaped, in the script's data no `<` is left, and the page's own policy
(Content Security Policy Level 3, from memory) lets nothing run or load but its one script, its one style and sheets.
"""

from __future__ import annotations

import base64
import datetime as dt
import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack
from html import escape
from pathlib import Path
from tempfile import SpooledTemporaryFile
from typing import IO, Any, NamedTuple

from traverse.resources import data
from traverse.season.season_cautions import some_of
from traverse.season.season_tables import Row, Rows
from traverse.season.tally import COUNTED, Tally
from traverse.sheet.paper.words import counted, dates, natural, number
from traverse.sheet.said.sentences import HAZARDS
from traverse.trade import PLAN_WARN
from traverse.wording import capital

_IN_MEMORY = 4 * 1024 * 1024
"""Bytes of a part of the page that are held; what is longer waits in a file."""


BEGINNING = (
    '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
    '<meta name="generator" content="traverse">\n'
)
"""What every page of a season begins with."""


class Linked(NamedTuple):
    """The rows of a log, and where the page leads for it."""

    rows: Rows
    log: str | None
    sheet: str | None


class _Parts:
    """Parts of the page that are filled log by log."""

    def __init__(self, stack: ExitStack) -> None:
        self._stack = stack
        self._parts: dict[str, IO[str]] = {}
        self.count: Counter[str] = Counter()

    def add(self, name: str, text: str) -> None:
        if name not in self._parts:
            part = SpooledTemporaryFile(_IN_MEMORY, "w+", encoding="utf-8", newline="\n")  # noqa: SIM115 the stack closes it
            self._parts[name] = self._stack.enter_context(part)
        self._parts[name].write(text)
        self.count[name] += 1

    def out(self, name: str, page: IO[str]) -> None:
        part = self._parts.get(name)
        if part is not None:
            part.seek(0)
            while piece := part.read(1 << 16):
                page.write(piece)


def write_page(
    path: Path,
    title: str,
    tally: Tally,
    clashes: Sequence[Row],
    cautions: Sequence[str],
    logs: Iterable[Linked],
) -> None:
    """Write the page to a file; the logs are taken one at a time. Raises OSError where the file takes no more."""
    with ExitStack() as stack:
        parts = _Parts(stack)
        for at, one in enumerate(logs):
            _take(parts, at, one, tally)
        with path.open("w", encoding="utf-8", newline="\n") as page:
            _write(page, title, tally, clashes, cautions, parts)


# --- one log --------------------------------------------------------------------------------------------------


def _take(parts: _Parts, at: int, one: Linked, tally: Tally) -> None:
    rows, log = one.rows, one.rows["logs"][0]
    parts.add("days", _day_row(at, log, one.sheet, shared=tally.titles[log["title"]] > 1))
    day = json.dumps(_day(log, rows, one), ensure_ascii=False, separators=(",", ":"))
    parts.add("data", ("," if at else "") + "\n" + _in_script(day))
    if log["standing"] == COUNTED:
        shown = f"{_cell(log['path'])}"
        for hazard in rows["hazards"]:
            parts.add(
                "hazards", _tr(_th(hazard["words"]), shown, _cell(hazard["station"]), _cell(_dates(log)))
            )
        for sample in rows["samples"]:
            parts.add(
                "samples",
                _tr(
                    _th(sample["label"]),
                    _cell(sample["words"]),
                    shown,
                    _cell(sample["station"]),
                    _cell(sample["unit"]),
                ),
            )
    for said in rows.get("answered", ()):
        where = f"{log['path']}:{said['line']}"
        parts.add(
            "answered",
            _tr(_th(capital(said["question"])), _cell(said["who"]), _cell(said["why"]), _cell(where)),
        )


def _standing(log: Row) -> str:
    """`part of camp.trav`."""
    standing: str = log["standing"]
    return standing if log["of"] is None else f"{standing.split(' ', maxsplit=1)[0]} of {log['of']}"


def _day_row(at: int, log: Row, sheet: str | None, *, shared: bool) -> str:
    """A log in the table; its file too beside a title that others share."""
    title = _e(log["title"])
    if log["standing"] == COUNTED:
        closes = f'<td{_poor(log)} data-key="{_closure_key(log)}">{_e(log["closes"])}</td>'
    else:
        closes = f'<td class="bad" data-key="9">{_e(_standing(log))}</td>'
    link = f'<a href="{_e(sheet)}">PDF<span class="unseen"> of {title}</span></a>' if sheet else ""
    file = f' <span dir="auto">{_e(log["path"])}</span>' if shared else ""
    cells = (
        f'<th scope="row" data-key="{title}"><button type="button" class="pick" dir="auto">{title}</button>{file}</th>',
        f'<td class="d" data-key="{_e(log.get("date") or "")}">{_e(_dates(log))}</td>',
        f'<td class="party" dir="auto">{_e(log.get("party") or "")}</td>',
        _cell(_short_grid(log)),
        _figure(log.get("length"), 1000.0, 2),
        closes,
        f"<td>{link}</td>",
        *(_figure(log.get(name)) for name in _COUNTS),
        _cell(log["path"]),
    )
    return f'<tr data-day="{at}">{"".join(cells)}</tr>\n'


def _short_grid(log: Row) -> str:
    """Where the whole name stands in the day's own figures."""
    if log.get("epsg") is not None:
        return f"EPSG:{log['epsg']}"
    return "local" if log["standing"] == COUNTED else ""


_COUNTS = ("stations", "attitudes", "samples", "hazards", "answered", "warnings")
_HEADS = (
    ("Log", ""),
    ("Day", ""),
    ("Party", ""),
    ("Grid", ""),
    ("km", "n"),
    ("Closes", ""),
    ("Sheet", ""),
    ("Stations", "n"),
    ("Attitudes", "n"),
    ("Samples", "n"),
    ("Hazards", "n"),
    ("Checked", "n"),
    ("Warnings", "n"),
    ("File", ""),
)


def _closure_key(log: Row) -> str:
    """Sorts walks from those that close best to those that close worst, then open ones."""
    return "8" if log["q"] is None else f"1 {log['q']:014.3f}"


def _poor(log: Row) -> str:
    return ' class="bad"' if _closes_poorly(log) else ""


def _closes_poorly(log: Row) -> bool:
    return bool(log.get("caution")) or (log.get("q") or 0.0) > PLAN_WARN


def _dates(log: Row) -> str:
    days = [dt.date.fromisoformat(one) for one in (log.get("date"), log.get("last_date")) if one]
    if len(set(days)) == 2:
        return f"{dates(days[:1])} to {dates(days[1:])}"
    return dates(days)


def _day(log: Row, rows: Rows, one: Linked) -> dict[str, Any]:
    """What the map and the day beside it show."""
    kinds: dict[str, Counter[str]] = {}
    for attitude in rows.get("attitudes", ()):
        kinds.setdefault(attitude["unit"] or "no unit", Counter())[attitude["kind"]] += 1
    return {
        "path": log["path"],
        "title": log["title"],
        "standing": log["standing"],
        "of": log.get("of"),
        "stands": _standing(log),
        "area": log.get("area"),
        "dates": _dates(log),
        "first": log.get("date"),
        "last": log.get("last_date"),
        "people": [person["name"] for person in rows.get("people", ())],
        "letters": [unit["letters"] for unit in rows.get("units", ())],
        "grid": log.get("grid"),
        "walked": None if log.get("length") is None else f"{number(log['length'] / 1000.0, places=2)} km",
        "closes": log["closes"],
        "poor": _closes_poorly(log),
        "caution": log.get("caution"),
        "warnings": log["warnings"],
        "href": one.log,
        "sheet": one.sheet,
        "walk": log.get("place"),
        "stations": [
            _at(row) | {"name": row["name"], "unit": row["unit"]} for row in rows.get("stations", ())
        ],
        "attitudes": [
            _at(row) | {"strike": row["strike"]} for row in rows.get("attitudes", ()) if row["dip"]
        ],
        "samples": [
            _at(row) | {"label": row["label"], "station": row["station"], "words": row["words"] or ""}
            for row in rows.get("samples", ())
        ],
        "hazards": [
            _at(row) | {"mark": row["mark"], "station": row["station"], "words": row["words"]}
            for row in rows.get("hazards", ())
        ],
        "closures": [_closure(row) for row in rows.get("closures", ())],
        "tally": [
            f"{unit}: " + ", ".join(counted(count, kind) for kind, count in found.items())
            for unit, found in kinds.items()
        ],
        "messages": [_message(row) for row in rows.get("messages", ())],
        "answered": [
            f"Line {row['line']}: {row['question']}. {row['who']}: {row['why']}"
            for row in rows.get("answered", ())
        ],
    }


def _at(row: Row) -> dict[str, Any]:
    lon, lat = row["place"] or (None, None)
    return {"lon": lon, "lat": lat}


def _closure(row: Row) -> str:
    return f"{row['name']}: {row['words']}{'' if row['adjusted'] else '; not adjusted'}"


def _message(row: Row) -> str:
    line = "" if row["line"] is None else f", line {row['line']}"
    where = f" of {row['file']}" if row["file"] else ""
    return f"{capital(row['severity'])}{line}{where}: {row['words']}"


# --- the page -------------------------------------------------------------------------------------------------


def _write(
    page: IO[str], title: str, tally: Tally, clashes: Sequence[Row], cautions: Sequence[str], parts: _Parts
) -> None:
    style, script = (
        data("templates", "season", f"season.{kind}").read_text("utf-8") for kind in ("css", "js")
    )
    policy = (
        f"default-src 'none'; script-src '{_digest(script)}'; style-src '{_digest(style)}'; "
        "frame-src 'self' file:; base-uri 'none'; form-action 'none'"
    )
    page.write(
        f"{BEGINNING}"
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="referrer" content="no-referrer">\n'
        f"<title>{_e(title)}, a season</title>\n<style>{style}</style>\n</head>\n<body>\n"
        '<a class="skip" href="#days">To the table of logs</a>\n'
        f'<header>\n<h1 dir="auto">{_e(title)}, a season</h1>\n'
    )
    page.write(_sums(tally))
    page.write("</header>\n<main>\n")
    page.write(_cautions(cautions))
    page.write(_MAP)
    page.write(_unplaced(tally))
    page.write(_days_head(tally))
    parts.out("days", page)
    page.write(_DAYS_FOOT)
    page.writelines(_tables(tally, clashes, parts, page))
    page.write("</main>\n")
    colours = json.dumps(
        [[one.letters, one.colour] for one in tally.units.values() if one.colour], ensure_ascii=False
    )
    page.write(f'<script type="application/json" id="season-units">{_in_script(colours)}</script>\n')
    page.write('<script type="application/json" id="season-days">[')
    parts.out("data", page)
    page.write(f"\n]</script>\n<script>{script}</script>\n</body>\n</html>\n")


def _sums(tally: Tally) -> str:
    days = sorted(dt.date.fromisoformat(one) for one in tally.days)
    span = (
        "" if not days else dates(days) if len(set(days)) == 1 else f"{dates(days[:1])} to {dates(days[-1:])}"
    )
    figures = [
        (tally.standing[COUNTED], "log", "logs"),
        (tally.length_m / 1000.0, "km walked", "km walked"),
        *((tally.figures[name], name[:-1], name) for name in ("stations", "loops", "attitudes", "contacts")),
        *((tally.figures[name], name[:-1], name) for name in ("samples", "photos", "hazards", "warnings")),
        (len(tally.people), "person", "people"),
    ]
    items = "".join(
        f"<li><b>{number(value, places=1 if isinstance(value, float) else 0)}</b> {one if value == 1 else many}</li>"
        for value, one, many in figures
    )
    return (f"<p>{_e(span)}</p>\n" if span else "") + f'<ul class="sum">{items}</ul>\n'


def _cautions(cautions: Sequence[str]) -> str:
    items = "".join(f'<li dir="auto">{_e(one)}</li>\n' for one in cautions)
    return f'<section class="cautions" aria-labelledby="cautions"><h2 id="cautions">Cautions</h2>\n<ul>\n{items}</ul></section>\n'


_MAP = """<section aria-labelledby="map">
<h2 id="map">Map</h2>
<noscript><p class="nothing">The map and the choice of days need the script of this page. The tables below stand without it.</p></noscript>
<div class="tools" data-script hidden>
<button type="button" id="whole">All shown</button>
<button type="button" id="one">Chosen day</button>
<button type="button" id="closer">Closer</button>
<button type="button" id="farther">Farther</button>
</div>
<canvas id="ground" tabindex="0" role="application" aria-roledescription="map" aria-label="Map of the walks, north up. \
Arrow keys move it, plus and minus bring it closer and farther, zero shows all, Page Down and Page Up choose the next and \
the last day. The table of logs holds the same days."></canvas>
<ul class="key">
<li><svg viewBox="0 0 20 20" aria-hidden="true"><path d="M2 15 8 6l5 6 5-8" fill="none" stroke="#4d585d" stroke-width="1.6"/></svg>walk</li>
<li><svg viewBox="0 0 20 20" aria-hidden="true"><circle cx="10" cy="10" r="4.5" fill="#9ec9a0" stroke="#1d2326"/></svg>station, in the colour of its unit</li>
<li><svg viewBox="0 0 20 20" aria-hidden="true"><path d="M10 1v18M10 10h6" fill="none" stroke="#1d2326" stroke-width="1.8"/></svg>strike, and the way it dips</li>
<li><svg viewBox="0 0 20 20" aria-hidden="true"><path d="M5 5h10v10H5z" fill="#fff" stroke="#0b5a8a" stroke-width="1.8"/></svg>sample</li>
<li><svg viewBox="0 0 20 20" aria-hidden="true"><path d="M10 3l8 14H2z" fill="#8a2f0b"/></svg>hazard noticed</li>
<li><svg viewBox="0 0 20 20" aria-hidden="true"><circle cx="10" cy="10" r="8" fill="#4d585d"/><text x="10" y="14" font-size="11" text-anchor="middle" fill="#fff">7</text></svg>so many days, too small to draw</li>
</ul>
"""


def _unplaced(tally: Tally) -> str:
    words = ""
    if tally.unplaced:
        names = _e(some_of(tally.unplaced))
        words = (
            f'<p dir="auto">{counted(len(tally.unplaced), "log")} on a local grid, without longitude and latitude, '
            f"can’t stand on the map: {names}.</p>\n"
        )
    return f"{words}</section>\n"


def _options(values: Iterable[str]) -> str:
    return "".join(f'<option value="{_e(one)}">{_e(one)}</option>' for one in values)


def _days_head(tally: Tally) -> str:
    heads = "".join(
        f'<th scope="col"{f" class={kind!r}" if kind else ""}><button type="button" class="sort">{name}</button></th>'
        for name, kind in _HEADS
    )
    units = dict.fromkeys(letters for letters, _ in sorted(tally.units))
    return f"""<section aria-labelledby="days">
<h2 id="days" tabindex="-1">Logs</h2>
<form id="filter" class="filter" role="search" aria-label="Logs" data-script hidden>
<label>Words <input type="search" name="words" autocomplete="off" placeholder="title, person, sample …"></label>
<label>Person <select name="who"><option value="">all</option>{_options(sorted(tally.people))}</select></label>
<label>Unit <select name="unit"><option value="">all</option>{_options(units)}</select></label>
<label>Grid <select name="grid"><option value="">all</option>{_options(sorted(one for one in tally.grids if one))}</select></label>
<label>State <select name="state"><option value="">all</option><option value="poor">closes poorly or not</option>\
<option value="open">open warnings</option><option value="hazards">hazards noticed</option>\
<option value="unplaced">no place on the map</option><option value="bad">not counted</option></select></label>
<label>From <input type="date" name="from"></label>
<label>Until <input type="date" name="until"></label>
<button type="reset">Clear</button>
</form>
<p id="shown" role="status" data-script hidden></p>
<div class="beside alone">
<div class="scroll" tabindex="0" role="region" aria-label="Table of logs">
<table id="table">
<caption>Each log of the season; a title shows its day beside the table.</caption>
<thead><tr>{heads}</tr></thead>
<tbody>
"""


_DAYS_FOOT = """</tbody>
</table>
<p><button type="button" id="more" hidden>Show the others</button></p>
</div>
<aside id="day" class="day" aria-label="The chosen day" tabindex="0" hidden></aside>
</div>
</section>
"""


def _tables(tally: Tally, clashes: Sequence[Row], parts: _Parts, page: IO[str]) -> Iterator[str]:
    """The tables below, written as they are asked for: the parts go to the page between two pieces."""
    yield _table_head(
        "units", "Attitudes by unit", "Lines of readings taken in each unit, over all logs.", _UNIT_HEADS
    )
    yield from _unit_rows(tally)
    yield _TABLE_FOOT
    yield _table_head(
        "people", "People", "Who was out, on how many logs, and how far those walked.", _PERSON_HEADS
    )
    for name in sorted(tally.people):
        one = tally.people[name]
        yield _tr(_th(name), _figure(one.logs), _figure(len(one.days)), _figure(one.length_m, 1000.0, 1))
    yield _TABLE_FOOT
    for name, title, caption, heads, none in _LISTS:
        if not parts.count[name]:
            yield f'<section aria-labelledby="{name}"><h2 id="{name}">{title}</h2>\n<p>{none}</p></section>\n'
            continue
        page.write(_table_head(name, title, caption, heads))
        parts.out(name, page)
        yield _TABLE_FOOT
    if not clashes:
        yield '<section aria-labelledby="clashes"><h2 id="clashes">Clashes</h2>\n<p>None was found.</p></section>\n'
        return
    caption = "What logs say of one thing in two ways. Which is right the logs can’t tell."
    yield _table_head("clashes", "Clashes", caption, (("What", ""), ("Of", ""), ("Words", ""), ("Where", "")))
    for row in clashes:
        yield _tr(_th(row["what"]), _cell(row["kind"]), _cell(row["words"]), _cell(row["places"]))
    yield _TABLE_FOOT


_UNIT_HEADS = (("Unit", ""), ("Name", ""), ("Age", ""), ("Logs", "n"), ("Attitudes", "n"), ("Of which", ""))
_PERSON_HEADS = (("Name", ""), ("Logs", "n"), ("Days", "n"), ("km", "n"))
_LISTS = (
    (
        "hazards",
        "Hazards",
        HAZARDS,
        (("Hazard noticed", ""), ("Log", ""), ("Station", ""), ("Day", "")),
        f"No hazard was noted. {HAZARDS}",
    ),
    (
        "samples",
        "Samples",
        "Every sample, in the order of the logs.",
        (("Sample", ""), ("Words", ""), ("Log", ""), ("Station", ""), ("Unit", "")),
        "None was taken.",
    ),
    (
        "answered",
        "Answered by checked",
        "What the program asked about, and what the party answered in the log.",
        (("Asked", ""), ("Who", ""), ("Answer", ""), ("Where", "")),
        "Nothing was.",
    ),
)


def _unit_rows(tally: Tally) -> Iterator[str]:
    for key in sorted(tally.units, key=lambda one: (natural(one[0]), one[1])):
        one = tally.units[key]
        kinds = ", ".join(f"{count} {kind}" for kind, count in one.attitudes.most_common())
        swatch = ""
        if one.colour:
            swatch = f'<svg class="swatch" viewBox="0 0 14 9" aria-hidden="true"><path d="M0 0h14v9H0z" fill="{_e(one.colour)}"/></svg> '
        yield _tr(
            f'<th scope="row" dir="auto">{swatch}{_e(one.letters)}</th>',
            _cell(one.name),
            _cell(one.age),
            _figure(one.logs),
            _figure(one.attitudes.total()),
            _cell(kinds),
        )
    if tally.unknown:
        kinds = ", ".join(f"{count} {kind}" for kind, count in tally.unknown.most_common())
        yield _tr(
            _th("no unit"),
            _cell(None),
            _cell(None),
            _cell(None),
            _figure(tally.unknown.total()),
            _cell(kinds),
        )


def _table_head(name: str, title: str, caption: str, heads: Sequence[tuple[str, str]]) -> str:
    cells = "".join(
        f'<th scope="col"{f" class={kind!r}" if kind else ""}>{head}</th>' for head, kind in heads
    )
    return (
        f'<section aria-labelledby="{name}">\n<h2 id="{name}">{title}</h2>\n'
        f'<div class="scroll" tabindex="0" role="region" aria-label="{title}, table">\n<table><caption>{_e(caption)}</caption>\n'
        f"<thead><tr>{cells}</tr></thead>\n<tbody>\n"
    )


_TABLE_FOOT = "</tbody>\n</table>\n</div>\n</section>\n"


# --- words into markup ----------------------------------------------------------------------------------------


def _e(words: Any) -> str:
    return escape(str(words), quote=True)


def _tr(*cells: str) -> str:
    return f"<tr>{''.join(cells)}</tr>\n"


def _th(words: Any) -> str:
    return f'<th scope="row" dir="auto">{_e(words)}</th>'


def _cell(words: Any) -> str:
    return f'<td dir="auto">{_e("" if words is None else words)}</td>'


def _figure(value: float | None, over: float = 1.0, places: int = 0) -> str:
    if value is None:
        return '<td class="n" data-key=""></td>'
    return f'<td class="n" data-key="{value:g}">{number(value / over, places=places)}</td>'


def _in_script(text: str) -> str:
    """JSON that can't end the script that it stands in, nor begin a comment there (HTML, 4.12.1.3, from memory)."""
    return (
        text.replace("<", "\\u003c")
        .replace(">", "\\u003e")
        .replace("&", "\\u0026")
        .replace("\u2028", "\\u2028")
        .replace("\u2029", "\\u2029")
    )


def _digest(text: str) -> str:
    """What the policy knows a script or a style by."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
