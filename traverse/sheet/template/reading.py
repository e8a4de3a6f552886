"""Sheet templates: papers and panels as data, read from `templates/` or from a file of the user's own.

What is wrong with a template is said like what is wrong with a log: all of it, each with its place and a remedy.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from itertools import combinations
from pathlib import Path
from types import MappingProxyType

from traverse.diagnostic import Diagnostic, Outcome, error
from traverse.record import record
from traverse.resources import data
from traverse.sheet.paper.fonts import unfit
from traverse.sheet.paper.page import Box, Face, Pen
from traverse.sheet.template.overrides import read_lines, read_signs
from traverse.sheet.template.settings import PANELS, SETTINGS, TABLES, USUAL, setting_of
from traverse.sheet.template.values import Values
from traverse.source import Source
from traverse.toml_text import found_at, read_toml, toml_table

_COPY = "copy templates/field.toml and change its figures"


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
    """Width and height, upright; the height of a roll is the most that is cut from it."""
    rolls: frozenset[str]
    """Papers that are cut to the length that the walk asks for."""
    column: float
    narrow_column: float
    columns: Mapping[str, float]
    """Right-hand column of papers that have one of their own."""
    portrait_columns: tuple[float, ...]
    """Shares of the width under the map."""
    section_height: float
    least_section_height: float
    most_section_share: float
    show: frozenset[str]
    """Of `settings.SHOWN`."""
    page: tuple[float, float] | None
    """Width and height of sheet 1 where its panels are placed one by one."""
    panels: Mapping[str, Box]
    """Where each stands, from the lower left corner; empty where the sheet arranges them itself."""
    fonts: Mapping[Face, Path]
    """Files in place of the sheet's own family."""
    lines: Mapping[str, Pen]
    """Pens in place of those that ship, by the name of their line."""
    signs: Mapping[str, Mapping[str, float]]
    """Sizes of signs in place of those that ship, by sign and part."""

    def paper_named(self, name: str) -> str | None:
        """The template's spelling of a paper's name, whatever its case; None for an unknown one."""
        return next((one for one in self.papers if one.lower() == name.lower()), None)


def known_templates() -> tuple[str, ...]:
    """Names of the templates that ship; the marking scheme beside them is none."""
    return tuple(sorted(one.stem for one in data("templates").glob("*.toml") if one.stem != "marks"))


def template_source(name: str) -> tuple[Source | None, Path, tuple[Diagnostic, ...]]:
    """The text of a template by its name in `templates/` or by a path ending in `.toml`; None with an error."""
    path = Path(name)
    if not name.endswith(".toml"):
        known = known_templates()
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            hint = f"do you mean {near[0]}? " if near else ""
            return (
                None,
                path,
                _whole(
                    f"no template {name} is known here",
                    f"{hint}there is {', '.join(known)}; or name a .toml file",
                ),
            )
        path = data("templates", f"{name}.toml")
    try:
        return Source(name=name, text=read_toml(path)), path, ()
    except OSError as problem:
        said = _whole(
            f"the template {name} can't be read: {problem.strerror or problem}",
            "give the path of a .toml file",
        )
    except UnicodeDecodeError:
        said = _whole(f"{name} is no text in UTF-8", _COPY)
    return None, path, said


def read_template(name: str) -> Outcome[Template | None]:
    """The template of that name in `templates/`, or in a file ending in `.toml`; None with errors where it fails."""
    source, path, said = template_source(name)
    if source is None:
        return Outcome(None, said)
    table = toml_table(source, "template", _COPY)
    if isinstance(table, Diagnostic):
        return Outcome(None, (table,))
    reader = _Reader(source, path.parent)
    base: dict[str, object] = {}
    if "extends" in table:
        base = reader.base(table.pop("extends"))
    template = reader.template(table, base)
    reader.tell_missing()
    if reader.said:
        return Outcome(
            None, tuple(sorted(reader.said, key=lambda one: one.span[1:3] if one.span else (0, 0)))
        )
    return Outcome(template)


def _whole(message: str, hint: str) -> tuple[Diagnostic, ...]:
    return (error("template", message, None, hint),)


class _Reader(Values):
    """Reads one template and gathers what is wrong with it."""

    def __init__(self, source: Source, folder: Path) -> None:
        super().__init__(source)
        self.folder = folder

    def base(self, name: object) -> dict[str, object]:
        """The table of the template that this one changes."""
        known = known_templates()
        if not isinstance(name, str) or name not in known:
            near = difflib.get_close_matches(str(name), known, n=1)
            hint = f"do you mean {near[0]}? " if near else ""
            what = (
                f"`extends` takes a template that ships, and no file such as {name}"
                if str(name).endswith(".toml")
                else f"no template {name} is known here"
            )
            self.wrong("extends", what, f"{hint}there is {', '.join(known)}")
            # What it was to bring is not missed a second time.
            return self.base(_USUAL)
        found = tomllib.loads(data("templates", f"{name}.toml").read_text(encoding="utf-8"))
        below = found.pop("extends", None)
        return _merged(self.base(below) if below is not None else {}, found)

    def template(self, own: dict[str, object], base: dict[str, object]) -> Template | None:
        """The record; what it lacks stands in `said`."""
        self._keys(own, "")
        table = _merged(base, own)
        self.find_missing(table)
        papers, rolls = self._papers(table)
        margin = self.length(table, "margin")
        paper = table.get("paper")
        if (
            paper is not None
            and self.stands("papers")
            and (not isinstance(paper, str) or paper not in papers)
        ):
            self.wrong("paper", f"paper {paper} is none of [papers]", f"one of {', '.join(papers)}")
        named = found_at(table, "landscape.columns")
        columns = (
            {name: self.length(table, f"landscape.columns.{name}") for name in named}
            if isinstance(named, dict)
            else {}
        )
        for name in columns if self.stands("papers") else ():
            if name not in papers and f"landscape.columns.{name}" in self.spans:
                self.wrong(
                    f"landscape.columns.{name}",
                    f"paper {name} is none of [papers]",
                    f"one of {', '.join(papers)}",
                )
        page = self._page(table)
        show = self._show(table)
        panels = self._panels(table, page, margin)
        height = self.length(table, "section.height")
        least_height = self.length(table, "section.least_height")
        if self.stands("section.height", "section.least_height") and least_height > height:
            self.wrong(
                "section.least_height",
                "`section.least_height` is more than `section.height`",
                f"{height:g} or less",
            )
        shares = self.lengths(table, "portrait.columns")
        if self.stands("portrait.columns") and min(shares) < sum(shares) / 6.0:
            self.wrong(
                "portrait.columns",
                "one of `portrait.columns` is too narrow for words",
                "each at least a sixth of all three",
            )
        found = Template(
            margin=margin,
            gap=self.length(table, "gap"),
            coordinates=self.length(table, "coordinates"),
            foot=self.length(table, "foot"),
            paper=paper if isinstance(paper, str) else "",
            papers=MappingProxyType(papers),
            rolls=frozenset(rolls),
            column=self.length(table, "landscape.column"),
            narrow_column=self.length(table, "landscape.narrow_column"),
            columns=MappingProxyType(columns),
            portrait_columns=shares,
            section_height=height,
            least_section_height=least_height,
            most_section_share=self.share(table, "section.most_share"),
            show=show,
            page=page,
            panels=MappingProxyType(panels),
            fonts=MappingProxyType(self._fonts(table)),
            lines=MappingProxyType(read_lines(table.get("lines"), self.wrong)),
            signs=MappingProxyType(read_signs(table.get("signs"), self.wrong)),
        )
        if not self.said and not self.missing:
            self._room(found)
        return found

    def tell_missing(self) -> None:
        """One message for all that the template leaves out."""
        for key in [one for one in self.missing if one.startswith("page.")]:
            # No template has a page to begin with, so that `extends` would bring none.
            self.missing.remove(key)
            name = key.rpartition(".")[2]
            such = f"a line `{name} = {setting_of(key).such}`"
            self.wrong("page", f"[page] does not say its {name}", such)
        if self.missing:
            self.wrong(
                "",
                f"this template does not say {', '.join(f'`{key}`' for key in self.missing)}",
                f'begin it with `extends = "{_USUAL}"`, and only what is to differ need be said',
            )

    # --- parts ------------------------------------------------------------------------------------------------

    def _room(self, found: Template) -> None:
        """Whether margins, gap and column leave room for a map on every paper."""
        for name, (short, long) in found.papers.items():
            column = found.columns.get(name, found.column)
            wide = long - 2.0 * found.margin - found.coordinates - found.gap - column
            high = short - 2.0 * found.margin - found.coordinates - found.foot
            upright = short - 2.0 * (found.margin + found.gap)
            if min(wide, high, upright) >= LEAST_MAP_MM:
                continue
            own = f"landscape.columns.{name}"
            keys = {
                "margin": found.margin,
                "gap": found.gap,
                "coordinates": found.coordinates,
                "foot": found.foot,
                own if name in found.columns else "landscape.column": column,
            }
            # What the user wrote is to blame before what came from another template; the largest of it first.
            largest = max(keys, key=lambda key: (key in self.spans, keys[key]))
            measures = next((at for at in (f"papers.{name}", f"rolls.{name}") if at in self.spans), None)
            # With nothing but its other settings about it, a paper may be too small by itself.
            helps = min(wide, high, upright) + 2.0 * keys[largest] >= LEAST_MAP_MM and short > LEAST_MAP_MM
            remedy = [
                *([f"make `{largest}` smaller"] if helps else []),
                # What another template names can't be left out here.
                *([f"give {name} larger measures", f"leave {name} out"] if measures is not None else []),
            ]
            self.wrong(
                measures or largest,
                f"margin, gap and column leave no room for a map on {name}",
                f"{name} is {short:g} by {long:g}, and a map wants {LEAST_MAP_MM:.0f} each way:"
                f" {' or '.join(remedy or [f'make `{largest}` smaller'])}",
            )
            return

    def _keys(self, table: Mapping[str, object], at: str) -> None:
        known = TABLES[at]
        for key, value in table.items():
            path = f"{at}.{key}" if at else key
            if known is not None and key not in known:
                near = difflib.get_close_matches(key, known, n=1)
                what = "panel" if at == "panels" else "setting"
                hint = f"do you mean `{near[0]}`?" if near else f"there is {', '.join(known)}"
                self.wrong(path, f"no {what} `{key}` is known{f' in [{at}]' if at else ''}", hint)
            elif path in TABLES:
                if isinstance(value, dict):
                    self._keys(value, path)
                else:
                    self.wrong(path, f"`{path}` must be a table", f"a line `[{path}]` with settings below it")

    def _papers(self, table: Mapping[str, object]) -> tuple[dict[str, tuple[float, float]], list[str]]:
        papers: dict[str, tuple[float, float]] = {}
        named = table.get("papers")
        for name in named if isinstance(named, dict) else ():
            width, height = self.lengths(table, f"papers.{name}")
            papers[name] = (min(width, height), max(width, height))
        rolls = table.get("rolls")
        names = list(rolls) if isinstance(rolls, dict) else []
        for name in names:
            width, longest = self.lengths(table, f"rolls.{name}")
            papers[name] = (min(width, longest), max(width, longest))
        if not papers and "papers" in self.spans:
            self.unless_told("papers", "[papers] names no paper", "such as `A4 = [210.0, 297.0]`")
        return papers, names

    def _page(self, table: Mapping[str, object]) -> tuple[float, float] | None:
        if "page" not in table:
            if table.get("panels"):
                self.wrong(
                    "panels",
                    "panels are placed, but the page has no size",
                    "a table [page] with width and height",
                )
            return None
        if not isinstance(table["page"], dict):
            return None
        if not table.get("panels"):
            self.wrong(
                "page",
                "[page] gives a size, but no panel is placed on it",
                "a table [panels], as in templates/example.toml; or leave [page] out",
            )
        return self.length(table, "page.width"), self.length(table, "page.height")

    def _show(self, table: Mapping[str, object]) -> frozenset[str]:
        setting = SETTINGS["show"]
        value, known = table.get("show", list(USUAL)), setting.keys
        if not isinstance(value, list):
            self.wrong("show", f"`show` must be {setting.kind.value}", f"of {', '.join(known)}")
            return frozenset(known)
        for name in value:
            if name not in known:
                near = difflib.get_close_matches(str(name), known, n=1)
                hint = f"do you mean {near[0]}?" if near else f"there is {', '.join(known)}"
                self.wrong("show", f"no panel {name} is known", hint)
        if not value:
            self.wrong("show", "`show` leaves nothing on the sheet", f"some of {', '.join(known)}")
        if "section" in value and "map" not in value and not table.get("panels"):
            self.wrong(
                "show", "a section without a map has no place of its own", "place it: a table [panels]"
            )
        if {"map", "section"} & set(map(str, value)) and "limits" not in value:
            self.wrong("show", "the limits can't be left off a map or a section", 'add "limits"')
        return frozenset(str(name) for name in value)

    def _panels(
        self, table: Mapping[str, object], page: tuple[float, float] | None, margin: float
    ) -> dict[str, Box]:
        given = table.get("panels")
        named: Mapping[str, object] = given if isinstance(given, dict) else {}
        found: dict[str, Box] = {}
        if not self.stands("page.width", "page.height"):
            page = None
        for name in named:
            if name not in PANELS:
                continue
            before = len(self.said)
            x, y, width, height = self.lengths(table, f"panels.{name}")
            if len(self.said) > before:
                continue
            if width <= 0.0 or height <= 0.0:
                self.unless_said(
                    f"panels.{name}", f"panel {name} has no size", "x, y, width, height in millimetres"
                )
                continue
            found[name] = box = Box(x=x, y=y, width=width, height=height)
            if page is not None and (box.right > page[0] + 1e-6 or box.top > page[1] + 1e-6):
                over = max(box.right - page[0], box.top - page[1])
                self.wrong(
                    f"panels.{name}",
                    f"panel {name} leaves the page by {over:.1f} mm",
                    f"it ends at {box.right:.1f}, {box.top:.1f}; the page is {page[0]:.1f} by {page[1]:.1f}",
                )
            elif page is not None and self.stands("margin"):
                over = max(
                    margin - box.x, margin - box.y, box.right - page[0] + margin, box.top - page[1] + margin
                )
                if over > 1e-6:
                    self.wrong(
                        f"panels.{name}",
                        f"panel {name} stands {over:.1f} mm in the margin of {margin:g} mm",
                        f"keep it between {margin:g}, {margin:g} and {page[0] - margin:g}, {page[1] - margin:g};"
                        " or give a smaller `margin`, if your printer and copier keep that much",
                    )
            least = _LEAST.get(name, (20.0, 4.0))
            if width < least[0] or height < least[1]:
                self.wrong(
                    f"panels.{name}",
                    f"panel {name} is too small to hold anything",
                    f"at least {least[0]:.0f} wide and {least[1]:.0f} high",
                )
        sound = {name: box for name, box in found.items() if self.stands(f"panels.{name}")}
        for (one, first), (other, second) in combinations(sound.items(), 2):
            wide = min(first.right, second.right) - max(first.x, second.x)
            high = min(first.top, second.top) - max(first.y, second.y)
            if wide > _TOUCH_MM and high > _TOUCH_MM:
                self.wrong(
                    f"panels.{other}",
                    f"panels {one} and {other} overlap by {wide:.1f} x {high:.1f} mm",
                    f"{one} is [{first.x:g}, {first.y:g}] to [{first.right:g}, {first.top:g}]",
                )
        if found and {"map", "section"} & set(found) and "limits" not in named:
            self.wrong("panels", "the limits can't be left off a map or a section", "place a panel `limits`")
        return found

    def _fonts(self, table: Mapping[str, object]) -> dict[Face, Path]:
        named = table.get("fonts")
        found: dict[Face, Path] = {}
        for face in Face:
            value = named.get(face.value) if isinstance(named, dict) else None
            if value is None:
                continue
            path = self.folder / str(value)
            problem = "is not there" if not path.is_file() else unfit(path)
            if problem:
                self.wrong(
                    f"fonts.{face.value}",
                    f"font file {value} {problem}",
                    f"{SETTINGS['fonts.*'].words}; or leave the line out",
                )
            found[face] = path
        return found


_LEAST: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"map": (60.0, 50.0), "scale": (100.0, 10.0), "section": (60.0, 40.0), "limits": (40.0, 20.0)}
)
"""Smallest useful size of a panel, width and height."""
LEAST_MAP_MM = 60.0
"""A map that is narrower or lower is none."""
_USUAL = "field"
_TOUCH_MM = 0.1


def _merged(base: Mapping[str, object], own: Mapping[str, object]) -> dict[str, object]:
    """A table with another's values over it, table by table."""
    found = dict(base)
    for key, value in own.items():
        before = found.get(key)
        found[key] = _merged(before, value) if isinstance(before, dict) and isinstance(value, dict) else value
    return found


@record(frozen=True, slots=True, kw_only=True)
class Paper:
    """A paper the way it is turned."""

    name: str
    width: float
    height: float

    @property
    def landscape(self) -> bool:
        """Whether it lies on its long side."""
        return self.width > self.height
