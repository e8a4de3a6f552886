"""Sheet templates: papers and panels as data, read from `templates/` or from a file of the user's own."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from traverse.diagnostic import Outcome, error
from traverse.record import record
from traverse.resources import data

_LARGEST_MM = 2000.0


@record(frozen=True, slots=True, kw_only=True)
class Template:
    """Sizes of a sheet, in millimetres."""

    margin: float
    gap: float
    coordinates: float
    """Room left of the map and above it."""
    foot: float
    """The foot line and the air over it."""
    paper: str
    """Where the log names none."""
    papers: Mapping[str, tuple[float, float]]
    """Width and height, upright."""
    column: float
    narrow_column: float
    columns: Mapping[str, float]
    """Right-hand column of papers that have one of their own."""
    portrait_columns: tuple[float, ...]
    """Shares of the width under the map."""
    section_height: float
    least_section_height: float
    most_section_share: float

    def paper_named(self, name: str) -> str | None:
        """The template's spelling of a paper's name, whatever its case; None for an unknown one."""
        return next((one for one in self.papers if one.lower() == name.lower()), None)


def read_template(name: str) -> Outcome[Template | None]:
    """The template of that name in `templates/`, or in a file ending in `.toml`; None with an error where it fails."""
    import tomllib

    if name.endswith(".toml"):
        path = Path(name)
    else:
        known = sorted(one.stem for one in data("templates").glob("*.toml"))
        if name not in known:
            return _failed(
                f"no template {name} is known here", f"there is {', '.join(known)}; or name a .toml file"
            )
        path = data("templates", f"{name}.toml")
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as problem:
        return _failed(
            f"{name} can't be read: {problem.strerror or problem}", "give the path of a .toml file"
        )
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as problem:
        return _failed(f"{name} is no TOML: {problem}", "copy templates/field.toml and change its figures")
    try:
        return Outcome(_template(table))
    except _UnfitError as problem:
        return _failed(f"{name}: {problem}", "copy templates/field.toml and change its figures")


class _UnfitError(Exception):
    """A template that lacks something or says it wrongly."""


def _failed(message: str, hint: str) -> Outcome[Template | None]:
    return Outcome(None, (error("template", message, None, hint),))


def _template(table: Mapping[str, object]) -> Template:
    papers: dict[str, tuple[float, float]] = {}
    for paper in _table(table, "papers"):
        width, height = _lengths(table, "papers", paper, count=2)
        papers[paper] = (min(width, height), max(width, height))
    if not papers:
        raise _UnfitError("`papers` names no paper")
    usual = table.get("paper")
    if not isinstance(usual, str) or usual not in papers:
        raise _UnfitError("`paper` must be one of `papers`")
    columns = table.get("landscape", {})
    own = columns.get("columns", {}) if isinstance(columns, dict) else {}
    margin = _length(table, "margin")
    least = min(min(size) for size in papers.values())
    if 2 * margin > least / 2:
        raise _UnfitError("`margin` leaves no room on the smallest paper")
    column = _length(table, "landscape", "column")
    if column > least:
        raise _UnfitError("`landscape.column` is wider than the smallest paper is high")
    return Template(
        margin=margin,
        gap=_length(table, "gap"),
        coordinates=_length(table, "coordinates"),
        foot=_length(table, "foot"),
        paper=usual,
        papers=MappingProxyType(papers),
        column=column,
        narrow_column=_length(table, "landscape", "narrow_column"),
        columns=MappingProxyType(
            {name: _length(table, "landscape", "columns", name) for name in own}
            if isinstance(own, dict)
            else {}
        ),
        portrait_columns=_lengths(table, "portrait", "columns", count=3),
        section_height=_length(table, "section", "height"),
        least_section_height=_length(table, "section", "least_height"),
        most_section_share=min(_length(table, "section", "most_share"), 0.6),
    )


def _found(table: Mapping[str, object], *keys: str) -> object:
    value: object = table
    for key in keys:
        if not isinstance(value, dict) or key not in value:
            raise _UnfitError(f"`{'.'.join(keys)}` is missing")
        value = value[key]
    return value


def _table(table: Mapping[str, object], *keys: str) -> Mapping[str, object]:
    value = _found(table, *keys)
    if not isinstance(value, dict):
        raise _UnfitError(f"`{'.'.join(keys)}` must be a table")
    return value


def _number(value: object, name: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.0 < value <= _LARGEST_MM:
        raise _UnfitError(f"`{name}` must be a length in millimetres, above 0")
    return float(value)


def _length(table: Mapping[str, object], *keys: str) -> float:
    return _number(_found(table, *keys), ".".join(keys))


def _lengths(table: Mapping[str, object], *keys: str, count: int) -> tuple[float, ...]:
    value = _found(table, *keys)
    name = ".".join(keys)
    if not isinstance(value, list) or len(value) != count:
        raise _UnfitError(f"`{name}` must be {count} lengths")
    return tuple(_number(one, name) for one in value)
