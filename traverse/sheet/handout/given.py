"""What a handout may show: records made anew from an allow-list, so that nothing else of a log can reach the page.

Every field that is passed on is named here; what is not named does not exist for the panels that draw the sheet.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from string import ascii_uppercase
from typing import assert_never

from traverse.diagnostic import Diagnostic, Outcome, warning
from traverse.ground.records import Ground, Traverse
from traverse.location.records import Frame, Survey
from traverse.log.items import Address, Crossing, Item, NotedThing
from traverse.log.records import Control, Heading, Log, Projection, RockUnit
from traverse.record import record
from traverse.sheet.handout.tells import counts_days, tells
from traverse.sheet.paper.words import plain, whole_title
from traverse.sheet.said.stops import units_on_sheet
from traverse.sheet.signs.shown import Kept, shown, told
from traverse.source import Span
from traverse.structure.readings.records import Placed
from traverse.structure.records import Geology
from traverse.structure.section.records import PointKind, ProfilePoint, Section
from traverse.structure.walk.records import BandStretch
from traverse.trade import BAND_M

PARTS = ("attitudes", "contacts", "units", "profile", "tables")
"""What a leader may give beside the base."""
USUAL = ("profile",)
"""Given where the leader does not say."""
TO_COMPLETE = "exercise sheet, to be completed"


@record(frozen=True, kw_only=True)
class Given:
    """The records that a handout is drawn from, and how many units and closures the key has."""

    trav: Traverse
    units: int
    closures: int
    parts: frozenset[str]
    head: str
    subtitle: str


def given(trav: Traverse, *, parts: Iterable[str], title: str | None = None) -> Outcome[Given]:
    """Records with the base of a handout and the `parts` of it that the leader gives.

    `title` replaces the log's own, of which only words that name neither units nor structure are kept.
    """
    chosen = frozenset(parts)
    said: list[Diagnostic] = []
    head, subtitle = _titled(trav.log, title)
    if title is not None and (word := tells(title, trav.log)) is not None:
        said.append(_name_tells("the title that was given", word, None))
    renamed = _sections_renamed(trav, said)
    items, things = _base(trav.log, trav.geology, said)
    said += _stations(trav.log)
    # The way-up, the rock and whatever else was said there stay with the key.
    said += _calls(trav.log)
    items += [one for one in trav.log.items if shown(one).kept is Kept.WITH_ATTITUDES and _gives(one, chosen)]
    addresses = tuple(_place_only(address) for address in trav.log.addresses)
    units = units_on_sheet(trav.log, trav.geology)
    heading = Heading(
        title=f"{head}, {subtitle}" if subtitle else head,
        heights=trav.log.heading.heights if not tells(trav.log.heading.heights or "", trav.log) else None,
        emergency=tuple(one for one in trav.log.heading.emergency if not tells(one.words, trav.log)),
        epsg=trav.log.heading.epsg,
        grid_span=trav.log.heading.grid_span,
        first=trav.log.heading.first,
        sheet=trav.log.heading.sheet,
        terrain=trav.log.heading.terrain,
        terrain_span=trav.log.heading.terrain_span,
    )
    reduced = Log(
        file="",
        heading=heading,
        units=tuple(_unit(one) for one in units) if "units" in chosen else (),
        controls=tuple(_control(one, trav.log) for one in trav.log.controls),
        paces=trav.log.paces,
        stations=trav.log.stations,
        legs=trav.log.legs,
        ties=trav.log.ties,
        addresses=addresses,
        items=tuple(items),
        # That there is a danger, and where; the note itself stays with the key.
        like_hazards=tuple(_place_only(one) for one in trav.log.like_hazards),
        parties=tuple(replace(one, file="", title=None, people=()) for one in trav.log.parties),
    )
    common = trav.survey.common_control
    placed = Survey(
        frame=_frame(trav),
        paces=trav.survey.paces,
        places=trav.survey.places,
        legs=trav.survey.legs,
        addresses=trav.survey.addresses,
        # How it closes is for the students to find.
        closures=(),
        rule=trav.survey.rule,
        anyway=None,
        heights=trav.survey.heights,
        ties=trav.survey.ties,
        common_control=None if common is None else _control(common, trav.log),
    )
    geology = Geology(
        attitudes=tuple(
            replace(one, unit=None) for one in trav.geology.attitudes if _gives(one.booked, chosen)
        ),
        contacts=tuple(
            replace(one, younger=None, older=None)
            for one in trav.geology.contacts
            if _gives(one.booked, chosen)
        ),
        contact_lines=tuple(
            replace(
                line,
                parts=tuple(
                    replace(part, contact=replace(part.contact, younger=None, older=None))
                    for part in line.parts
                ),
                left=None,
                right=None,
            )
            for line in trav.geology.contact_lines
            if all(_gives(part.contact.booked, chosen) for part in line.parts)
        ),
        things=tuple(things),
        band=tuple(_bare(one) for one in trav.geology.band if one.leg is None),
        thicknesses=(),
        bedding_mean=None,
        fold_axis=None,
        planes=(),
        sections=tuple(
            _section(one, named, ground="profile" in chosen, readings="attitudes" in chosen)
            for one, named in zip(trav.geology.sections, renamed, strict=True)
        ),
    )
    if not trav.log.sections and trav.geology.sections and trav.geology.attitudes:
        ends = list(trav.log.stations)
        said.append(
            warning(
                "blank-section-tells",
                "the log names no section, so the line on the blank lies square to the beds and tells their strike",
                None,
                f"write a line of your own, such as `section A-A' from {ends[0]} to {ends[-1]}`",
            )
        )
    return Outcome(
        Given(
            trav=Traverse(
                log=reduced,
                survey=placed,
                geology=geology,
                # Heights are the base map; where a contact comes out on them is an answer, and the name of the file may be one.
                ground=Ground(
                    terrain=None if trav.ground.terrain is None else replace(trav.ground.terrain, name=""),
                    width=trav.ground.width,
                ),
            ),
            units=len(units),
            closures=len(trav.survey.closures),
            parts=chosen,
            head=head,
            subtitle=subtitle,
        ),
        tuple(said),
    )


def _frame(trav: Traverse) -> Frame:
    """The grid and its norths, without the part of a declination's source that tells."""
    frame = trav.survey.frame
    parts = (frame.declination_note or "").split(", ")
    kept = ", ".join(one for one in parts if not tells(one, trav.log, dangers=False))
    # A name may have a comma in it.
    return replace(frame, declination_note=None if tells(kept, trav.log, dangers=False) else kept or None)


def _titled(log: Log, title: str | None) -> tuple[str, str]:
    if title is not None:
        head, _, rest = plain(title).partition(", ")
        return head or "Exercise", rest
    head, _, subtitle = whole_title(log).partition(", ")
    telling = tells(head, log, names=False) is not None
    if telling:
        head = "Exercise"
    for kept in (subtitle, subtitle.partition(":")[0]):
        # What stands beside a structure is most often said of it, in words that no list holds.
        if counts_days(kept) if telling else not tells(kept, log):
            return head, kept
    return head, ""


def _base(log: Log, geology: Geology, said: list[Diagnostic]) -> tuple[list[Item], list[Placed]]:
    """Hazards, all of them and in full; lines of the ground, without a name that tells."""
    items: list[Item] = []
    for item in log.items:
        words = told(item)
        if shown(item).kept is not Kept.ALL or words is None:
            continue
        items.append(item)
        what, text = words
        word = tells(text, log, dangers=False)
        if word is not None:
            said.append(
                warning(
                    "blank-hazard-tells",
                    f"this {what} says {word}, and it stays on the blank: no {what} is left out",
                    item.span,
                    "say the same without naming the rock or the structure",
                )
            )
    things: list[Placed] = []
    for thing in geology.things:
        match shown(thing.record).kept:
            case Kept.ALL:
                things.append(thing)
            case Kept.BASE:
                line = _nameless(thing.record, log)
                things.append(replace(thing, record=line))
                word = tells(line.name or "", log)
                if word is not None:
                    said.append(_name_tells(f"the name of this {line.kind.value}", word, line.span))
            case Kept.WITH_ATTITUDES | Kept.WITH_CONTACTS | Kept.NOTHING:
                pass
            case never:
                assert_never(never)
    return items, things


def _nameless(one: NotedThing, log: Log) -> Crossing:
    """A line of the ground without a name that tells."""
    assert isinstance(one, Crossing), "only a line of the ground is kept as base of the map"
    return replace(one, name=one.name if one.name and not tells(one.name, log, names=False) else None)


def _calls(log: Log) -> Iterator[Diagnostic]:
    """A warning for each line for an emergency that tells: the blank has a line to write it on."""
    for one in log.heading.emergency:
        word = tells(one.words, log)
        if word is not None:
            yield warning(
                "blank-emergency-tells",
                f"this line says {word}: the blank has a line to write it on",
                one.span,
                "say the same without naming the rock or the structure, or fill it in on every copy",
            )


def _stations(log: Log) -> Iterator[Diagnostic]:
    """A warning for each station whose name tells: a map needs its names."""
    spans: dict[str, Span] = {}
    for name, span in (
        *((leg.end, leg.end_span) for leg in log.legs),
        *((one.station, one.span) for one in log.addresses if one.station is not None),
        *((one.name, one.span) for one in log.controls),
    ):
        spans.setdefault(name, span)
    for name in log.stations:
        word = tells(name, log)
        if word is not None:
            yield _name_tells(f"the name of station {plain(name)}", word, spans.get(name))


def _name_tells(what: str, word: str, span: Span | None) -> Diagnostic:
    return warning(
        "blank-name-tells",
        f"{what} says {word}, and it stays on the blank",
        span,
        "give it another name, or leave it where the ground has it for its own",
    )


def _gives(item: Item, chosen: frozenset[str]) -> bool:
    """Whether a handout with these parts shows a reading or a contact."""
    match shown(item).kept:
        case Kept.WITH_ATTITUDES:
            return "attitudes" in chosen
        case Kept.WITH_CONTACTS:
            return "contacts" in chosen
        case Kept.ALL | Kept.BASE | Kept.NOTHING:
            return False
        case never:
            assert_never(never)


def _place_only(address: Address) -> Address:
    return replace(address, covered=False, words=None)


def _unit(unit: RockUnit) -> RockUnit:
    return RockUnit(letters=unit.letters, name=unit.name, age=unit.age, colour=unit.colour, span=unit.span)


def _control(control: Control, log: Log) -> Control:
    source = control.source if control.source and not tells(control.source, log) else None
    return replace(control, source=source)


def _bare(stretch: BandStretch) -> BandStretch:
    return replace(stretch, unit=None, covered=False, queried=False)


def _sections_renamed(trav: Traverse, said: list[Diagnostic]) -> list[tuple[str, str, str]]:
    """Of each section the name and the letters of its ends; letters that no other has where its own name tells."""
    sections = trav.geology.sections
    taken = {one.first_letter for one in sections}
    free = (one for one in ascii_uppercase if one not in taken)
    found: list[tuple[str, str, str]] = []
    for one in sections:
        word = tells(one.name, trav.log)
        if word is None or (letter := next(free, None)) is None:
            found.append((one.name, one.first_letter, one.last_letter))
            continue
        found.append((f"{letter}-{letter}'", letter, f"{letter}'"))
        said.append(
            warning(
                "blank-section-renamed",
                f"the name of section {plain(one.name)} says {word}: it stands as {letter}-{letter}' on the blank",
                None if one.booked is None else one.booked.span,
                f"call it so, `section {letter}-{letter}' …`, where key and blank are to have one name",
            )
        )
    return found


def _section(section: Section, named: tuple[str, str, str], *, ground: bool, readings: bool) -> Section:
    """Its line and its ground, and its stations where they stand on the key's and the `readings` tell why.

    Else these are carried square to it when it is laid: another way of carrying would be an answer. That the key carries
    along the strike is none, and whoever draws needs it; down a fold axis is one.

    Without the `ground` its axes span the same heights, and the names stand over a level line at the top of them.
    """
    name, first, last = named
    profile = tuple(replace(one, unit=None) for one in section.profile)
    depth_m = section.depth_m
    along_strike = section.projection is Projection.STRIKE
    points = tuple(
        replace(one, up_m=None, sd_m=None) for one in section.points if one.kind is PointKind.STATION
    )
    if profile and not ground:
        highest = max(one.up_m for one in profile)
        relief = highest - min(one.up_m for one in profile)
        profile = tuple(
            ProfilePoint(distance_m=at, up_m=highest)
            for at in (profile[0].distance_m, profile[-1].distance_m)
        )
        depth_m = 2.0 * relief + BAND_M if depth_m is None else relief + depth_m
    return Section(
        booked=None,
        name=name,
        first_letter=first,
        last_letter=last,
        line=section.line,
        azimuth_deg=section.azimuth_deg,
        grid_azimuth_deg=section.grid_azimuth_deg,
        length_m=section.length_m,
        projection=Projection.STRIKE if along_strike else Projection.SQUARE,
        exaggeration=section.exaggeration,
        depth_m=depth_m,
        profile=profile,
        points=points if along_strike and readings else (),
        bends_m=section.bends_m,
    )
