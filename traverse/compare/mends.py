"""What one mistake of the heading would have made of a log, undone: the lines as they would stand.

A mend is a change of whole lines of the log as it was written. Nothing is mended for good: a trial shows whether the log
then agrees with the key.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from traverse.angle import bearing_text, is_quadrant
from traverse.compare.records import Cause
from traverse.ground.records import Traverse
from traverse.length import METRES_PER_FOOT
from traverse.location.fits import left_out_there_deg
from traverse.location.records import Place
from traverse.log.items import Contact, Side
from traverse.log.readings import Convention, Declination, North, Unit
from traverse.log.records import Control, Log
from traverse.record import record
from traverse.source import Source, Span

Sources = Mapping[str, Source]
_SAME_DECLINATION_DEG = 0.05
_WALK = frozenset({"at", "to", "close", "side"})
"""Words that end a heading."""
_DECLINATION = "the declination"
_CONVENTION = "how attitudes are written"
NORTH_OF_ATTITUDES = "the north of the attitudes"
KNOWN_POINT = "the figures of known point"
"""What is to be looked at where a walk hangs elsewhere, before the point's name."""


@record(frozen=True, slots=True, kw_only=True)
class Mend:
    """One mistake undone."""

    span: Span
    """Where it is to be mended: the line of the heading, or the first of its kind."""
    cause: str
    about: str
    reading: str
    """What the line would say."""
    lines: Mapping[tuple[str, int], str]
    """By file and number."""


_LONG, _SHORT = "every length too long", "every length too short"
_WAYS = {
    "feet taken for metres": _LONG,
    "metres taken for feet": _SHORT,
    "single paces counted as double": _LONG,
    "double paces counted as single": _SHORT,
}
"""Which way what a line of the heading speaks of is off, where its cause would be what the line is to say."""


def way_off(mend: Mend) -> str | None:
    """The same of a mend; of the declination and of the attitudes, that all are turned alike. None of others."""
    if mend.about == _DECLINATION:
        return "every bearing turned alike"
    if mend.about in {_CONVENTION, NORTH_OF_ATTITUDES}:
        return "every attitude turned alike"
    return _WAYS.get(mend.cause)


def is_declination(mend: Mend) -> bool:
    """Whether it undoes what was done with the declination of all bearings."""
    return mend.about == _DECLINATION


def cause_of(mend: Mend, rests_on: str, *not_excluded: str, way: str | None = None) -> Cause:
    """What a mend that is found undoes."""
    return Cause(
        span=mend.span,
        cause=mend.cause,
        about=mend.about,
        reading=mend.reading,
        rests_on=rests_on,
        not_excluded=not_excluded,
        way=way,
    )


def mended(sources: Sources, mends: Iterable[Mend]) -> dict[str, Source]:
    """The files with all these lines changed."""
    changed = {at: text for mend in mends for at, text in mend.lines.items()}
    found = {}
    for name, source in sources.items():
        lines = list(source.lines)
        for (file, number), text in changed.items():
            if file == name and 0 < number <= len(lines):
                lines[number - 1] = text
        found[name] = Source(name=name, text="\n".join(lines) + "\n")
    return found


def put(sources: Sources, changes: Iterable[tuple[Span, str]]) -> dict[tuple[str, int], str]:
    """Lines with words put in place of what stands at their spans."""
    found: dict[tuple[str, int], str] = {}
    for span, words in sorted(changes, key=lambda one: one[0].column, reverse=True):
        at = (span.file, span.line)
        if span.file in sources:
            line = found.get(at, sources[span.file].line(span.line))
            found[at] = line[: span.column - 1] + words + line[span.end - 1 :]
    return found


def heading_mends(log: Log, key: Traverse, sources: Sources) -> Iterator[Mend]:
    """Each mistake of the heading that this log may have, undone; the commonest first.

    Of a log that brings in others, in the heading of one of them too.
    """
    for mend in _of_the_whole(log, key, sources):
        yield mend
        files = dict.fromkeys(file for file, _ in mend.lines)
        for file in files if len(files) > 1 else ():
            lines = {at: text for at, text in mend.lines.items() if at[0] == file}
            span = _whole(sources, *min(lines))
            yield _mend(sources, span, mend.cause, mend.about, lines)


def contact_mend(contact: Contact, sources: Sources) -> Mend | None:
    """The two units of a contact put the other way round; None where its line does not name them."""
    if contact.span.file not in sources or contact.named is None:
        return None
    line, at = sources[contact.span.file].line(contact.span.line), contact.span.column - 1
    # In the letters of its own log, which a camp may call otherwise.
    turned, count = re.subn(r"([^\s/?]+)/([^\s/?]+)", r"\2/\1", line[at:], count=1)
    if not count:
        return None
    called = f"{contact.kind.value} {'/'.join(contact.named)}"
    return _mend(
        sources,
        contact.span,
        f"{called}: younger and older exchanged",
        called,
        {(contact.span.file, contact.span.line): line[:at] + turned},
    )


def _of_the_whole(log: Log, key: Traverse, sources: Sources) -> Iterator[Mend]:
    yield from _declinations(log, key, sources)
    yield from _conventions(log, sources)
    yield from _paces(log, sources)
    yield from _units_of_length(log, sources)
    yield from _offsets(log, sources)
    yield from _dial(log, sources)
    yield from _grids(log, key, sources)
    yield from _controls(log, key, sources)


def _mend(sources: Sources, span: Span, cause: str, about: str, lines: Mapping[tuple[str, int], str]) -> Mend:
    reading = lines.get((span.file, span.line), sources[span.file].line(span.line)).partition("\n")[0]
    return Mend(span=span, cause=cause, about=about, reading=" ".join(reading.split()), lines=lines)


def _whole(sources: Sources, file: str, number: int) -> Span:
    line = sources[file].line(number)
    start = len(line) - len(line.lstrip())
    return Span(file, number, start + 1, len(line.rstrip()) + 1)


def _lines_of(sources: Sources, word: str) -> list[tuple[str, int, str]]:
    """Lines that begin with a word: file, number and text."""
    return [
        (name, number, line)
        for name, source in sources.items()
        for number, line in enumerate(source.lines, start=1)
        if line.split("#", 1)[0].split()[:1] == [word]
    ]


def _declinations(log: Log, key: Traverse, sources: Sources) -> Iterator[Mend]:
    found: list[Declination] = []
    for _, one in log.held(lambda conditions: conditions.declination):
        if one is not None and one not in found and one.span.file in sources:
            found.append(one)
    theirs = key.survey.frame.declination_deg
    magnetic = [north for _, north in log.held(lambda conditions: conditions.bearings)]
    about = _DECLINATION
    if found and North.MAGNETIC in magnetic:
        span = found[0].span
        texts = {(one.span.file, one.span.line): sources[one.span.file].line(one.span.line) for one in found}
        if all(one.value_deg is not None for one in found) and any(one.value_deg for one in found):
            yield _set_already(sources, span, texts, about)
            yield from _turned_again(log, sources, span, texts)
            turned = {
                (one.span.file, one.span.line): _declined(
                    texts[one.span.file, one.span.line],
                    f"{abs(one.value_deg or 0.0):g} {'W' if (one.value_deg or 0.0) > 0.0 else 'E'}",
                )
                for one in found
            }
            yield _mend(sources, span, "declination of the wrong sign", about, turned)
        values = [one.value_deg or 0.0 for one in found]
        told = any(abs(abs(theirs or 0.0) - abs(one)) < _SAME_DECLINATION_DEG for one in values)
        if theirs and not told:
            other = {at: _declined(text, _east(theirs)) for at, text in texts.items()}
            yield _mend(sources, span, "another declination than the key's", about, other)
    called_true = set(magnetic) == {North.TRUE}
    # Bearings that are called true and were read off a compass leave out what is known of the declination there.
    left_out = left_out_there_deg(log, key.log, log, magnetic={}) if called_true else theirs
    for file, number, line in _lines_of(sources, "bearings") if left_out else ():
        words = line.split()[1:2]
        if words == ["magnetic"] and found:
            continue
        cause = "declination left out: bearings were magnetic" if words == ["true"] else "declination missing"
        stated = left_out if not (called_true and found) else None
        lines = _magnetic(sources, file, number, stated)
        yield _mend(sources, _whole(sources, file, number), cause, about, lines)
        break


def _set_already(sources: Sources, span: Span, declined: Mapping[tuple[str, int], str], about: str) -> Mend:
    """Bearings read off a compass on which the declination was set: they are true as they stand, and it stays what it is."""
    files = {file for file, _ in declined}
    turned = {
        (file, number): re.sub(r"\bmagnetic\b", "true", text, count=1)
        for word in ("bearings", "attitudes")
        for file, number, text in _lines_of(sources, word)
        if file in files
    }
    return Mend(
        span=span,
        cause="declination applied twice",
        about=about,
        reading="bearings true",
        lines={**declined, **turned},
    )


def _turned_again(
    log: Log, sources: Sources, span: Span, declined: Mapping[tuple[str, int], str]
) -> Iterator[Mend]:
    """Bearings that were read off a set compass, or turned before they were written, and strikes that were not."""
    norths = {north for _, north in log.held(lambda conditions: conditions.attitudes_from)}
    files = {file for file, _ in declined}
    stated = [one for one in _lines_of(sources, "attitudes") if one[0] in files]
    if norths != {North.MAGNETIC} or {file for file, _, _ in stated} != files:
        return
    turned = {
        (file, number): re.sub(r"\bmagnetic\b", "true", text, count=1)
        for file, number, text in _lines_of(sources, "bearings")
        if file in files
    }
    kept = {
        (file, number): re.sub(r"\s+magnetic\b", "", text.split("#")[0]).rstrip() + " magnetic"
        for file, number, text in stated
    }
    yield Mend(
        span=span,
        cause="declination applied twice to the bearings",
        about=_DECLINATION,
        reading="bearings true",
        lines={**declined, **turned, **kept},
    )


def _magnetic(
    sources: Sources, file: str, number: int, declination_deg: float | None
) -> dict[tuple[str, int], str]:
    """A line `bearings …` of magnetic bearings, with their declination where one is given.

    It is put where a blank line or a remark stands before the walk, so that all other lines keep their numbers.
    """
    lines = sources[file].lines
    change = re.sub(r"\b(true|grid|magnetic)\b", "magnetic", lines[number - 1], count=1)
    if declination_deg is None:
        return {(file, number): change}
    stated = f"declination {_east(round(declination_deg, 1))}, 2000, key"
    for at, line in enumerate(lines[number:], start=number + 1):
        words = line.split("#")[0].split()
        if not words:
            return {(file, number): change, (file, at): stated}
        if words[0] in _WALK:
            break
    return {(file, number): f"{change}\n{stated}"}


def _east(degrees: float) -> str:
    return f"{abs(degrees):g} {'E' if degrees >= 0.0 else 'W'}"


def _declined(line: str, value: str) -> str:
    """A line `declination …` with another value, its year and source kept; without a yearly change."""
    head, _, rest = line.partition(",")
    indent = head[: len(head) - len(head.lstrip())]
    rest = re.sub(r",?\s*change[^,]*", "", rest)
    return f"{indent}declination {value}" + (f",{rest}" if rest.strip() else ", 2000, key")


_CONVENTIONS = {
    Convention.DIP_RIGHT: "dip-right",
    Convention.DIP_LEFT: "dip-left",
    Convention.DIP_DIRECTION: "dip-direction",
}


def _conventions(log: Log, sources: Sources) -> Iterator[Mend]:
    lines = _lines_of(sources, "attitudes")
    if not lines:
        return
    file, number, _ = lines[0]
    span, about = _whole(sources, file, number), _CONVENTION
    now = {one for _, one in log.held(lambda conditions: conditions.convention) if one in _CONVENTIONS}
    for one in now:
        for other, word in _CONVENTIONS.items():
            if other is not one:
                changed = {
                    (where, at): re.sub(rf"\b{_CONVENTIONS[one]}\b", word, text, count=1)
                    for where, at, text in lines
                }
                yield _mend(sources, span, f"{_CONVENTIONS[one]} for {word}", about, changed)
    norths = {north for _, north in log.held(lambda conditions: conditions.attitudes_from)}
    for north in (North.TRUE, North.MAGNETIC):
        if (
            norths == {North.MAGNETIC if north is North.TRUE else North.TRUE}
            and log.heading.first.declination
        ):
            changed = {
                (where, at): re.sub(r"\s+(true|magnetic|grid)\b", "", text.split("#")[0]).rstrip()
                + f" {north.value}"
                for where, at, text in lines
            }
            was = (
                "declination added to attitudes that had it"
                if north is North.TRUE
                else "declination left off the attitudes"
            )
            yield _mend(sources, span, was, NORTH_OF_ATTITUDES, changed)


_LENGTH = re.compile(r"(\d+(?:[.,]\d+)?)(\s*(?:m|ft)?)(?=\s|$)")


def _paces(log: Log, sources: Sources) -> Iterator[Mend]:
    """Each pace, and all of them, as counted in the other kind or measured in the other unit."""
    courses = [one for one in log.paces if one.span.file in sources]
    groups = [[one] for one in courses] + ([courses] if len(courses) > 1 else [])
    for group in reversed(groups):
        span = group[0].span
        for factor, cause in (
            (0.5, "single paces counted as double"),
            (2.0, "double paces counted as single"),
            (METRES_PER_FOOT, "feet taken for metres"),
            (1.0 / METRES_PER_FOOT, "metres taken for feet"),
        ):
            lines = {}
            for one in group:
                text = sources[one.span.file].line(one.span.line)
                lines[one.span.file, one.span.line] = _paced(text, factor)
            about = "the length of the pace"
            yield _mend(sources, span, cause, about, lines)


def _paced(line: str, factor: float) -> str:
    """A line `pace …` with its first length times a factor; a length of feet or metres in place of the other."""

    def times(found: re.Match[str]) -> str:
        written, unit = found[1].replace(",", "."), found[2]
        if factor not in {0.5, 2.0} and unit.strip():
            other = "ft" if factor < 1.0 else "m"
            if unit.strip() != other:
                return f"{written} {other}"
        return f"{float(written) * factor:.6g}{unit}"

    head, word, rest = line.partition("pace")
    return head + word + _LENGTH.sub(times, rest, count=1)


def _units_of_length(log: Log, sources: Sources) -> Iterator[Mend]:
    stated = _lines_of(sources, "distances")
    if stated:
        file, number, _ = stated[0]
        for one, other in (("metres", "feet"), ("feet", "metres")):
            changed = {
                (where, at): re.sub(rf"\b{one}\b", other, text, count=1)
                for where, at, text in stated
                if one in text
            }
            if changed:
                cause = f"{other} taken for {one}"
                yield _mend(sources, _whole(sources, file, number), cause, "the unit of distances", changed)
    measured = [leg.distance for leg in log.legs]
    for address in log.addresses:
        measured += [one for one in (address.start, address.end, address.offset) if one is not None]
    for unit, other_unit, cause in (
        (Unit.METRES, Unit.FEET, "feet taken for metres"),
        (Unit.FEET, Unit.METRES, "metres taken for feet"),
    ):
        wrong = [one for one in measured if one.unit is unit and one.written.rstrip().endswith(unit.value)]
        legs = [leg for leg in log.legs if leg.distance.unit is unit]
        if not wrong or len(legs) < 2:
            continue
        changes = [
            (one.span, one.written.rstrip().removesuffix(unit.value) + other_unit.value) for one in wrong
        ]
        yield _mend(sources, legs[0].span, cause, "the unit of taped distances", put(sources, changes))


def _offsets(log: Log, sources: Sources) -> Iterator[Mend]:
    """Left for right at every place beside a leg."""
    beside = [
        one for one in log.addresses if one.side in {Side.LEFT, Side.RIGHT} and one.span.file in sources
    ]
    if not beside:
        return
    swap = {"left": "right", "right": "left"}
    lines = {}
    for one in beside:
        text = sources[one.span.file].line(one.span.line)
        lines[one.span.file, one.span.line] = re.sub(r"\b(left|right)\b", lambda found: swap[found[1]], text)
    yield _mend(sources, beside[0].span, "left and right exchanged", "left and right of the legs", lines)


def _dial(log: Log, sources: Sources) -> Iterator[Mend]:
    """Every bearing of a leg as read off a dial whose E and W were exchanged."""
    read = [one for leg in log.legs for one in (leg.bearing, leg.back_bearing) if one is not None]
    if len(log.legs) < 3:
        return
    changes = [(one.span, bearing_text(-one.azimuth_deg, quadrant=is_quadrant(one.written))) for one in read]
    cause = "E and W of the dial exchanged in every bearing"
    yield _mend(sources, log.legs[0].span, cause, "E and W of the bearings", put(sources, changes))


def all_turned(log: Log, sources: Sources, degrees: int) -> Iterator[Mend]:
    """Every bearing turned clockwise by so much: those of the legs, and of a log that calls them true those of the beds too."""
    way = "left" if degrees > 0 else "right"
    stated = _lines_of(sources, "bearings")
    norths = {north for _, north in log.held(lambda conditions: conditions.bearings)}
    called_true = norths == {North.TRUE} and len(stated) == 1
    if called_true and log.heading.first.declination is None:
        ((file, number, _),) = stated
        yield Mend(
            span=_whole(sources, file, number),
            cause=f"every bearing too far to the {way}",
            about="the compass, and which north the bearings are from",
            reading=f"each turned by {degrees:+d}°",
            lines=_magnetic(sources, file, number, float(degrees)),
        )
    read = [one for leg in log.legs for one in (leg.bearing, leg.back_bearing) if one is not None]
    changes = [
        (one.span, bearing_text((one.azimuth_deg + degrees) % 360.0, quadrant=is_quadrant(one.written)))
        for one in read
    ]
    lines = put(sources, changes)
    held = log.heading.first.declination
    span = held.span if held is not None and held.span.file in sources else log.legs[0].span
    if called_true:
        span = _whole(sources, *stated[0][:2])
    yield Mend(
        span=span,
        cause=f"every bearing of a leg too far to the {way}",
        about="the compass, and the declination",
        reading=f"each turned by {degrees:+d}°",
        lines=lines,
    )


def _grids(log: Log, key: Traverse, sources: Sources) -> Iterator[Mend]:
    span, other = log.heading.grid_span, key.log.heading.epsg
    if span is None or other is None or log.heading.epsg == other or span.file not in sources:
        return
    text = sources[span.file].line(span.line)
    changed = {(span.file, span.line): re.sub(r"grid\s+.*", f"grid EPSG:{other}", text, count=1)}
    yield _mend(sources, span, "another grid or zone", "the grid", changed)


def within_words(sd_m: float | None) -> str:
    """How a line of the notation says that a place is good to so much: ` ±4 m`; nothing where it doesn't."""
    return "" if sd_m is None else f" ±{sd_m:g} m"


def _controls(log: Log, key: Traverse, sources: Sources) -> Iterator[Mend]:
    """Each known point of the key's name, where the key has it."""
    for one in log.controls:
        place = key.survey.places.get(one.name)
        mend = None if place is None else control_mend(one, place, sources)
        if mend is not None:
            yield mend


def control_mend(one: Control, place: Place, sources: Sources) -> Mend | None:
    """A known point put where the key has it; None where it is not given by east and north."""
    if one.east_m is None or one.span.file not in sources:
        return None
    height = "" if one.height_m is None else f" {one.height_m:.1f} m"
    within = within_words(one.sd_plan_m)
    text = f"control {one.name} {place.east_m:.1f} E {place.north_m:.1f} N{height}{within}"
    lines = {(one.span.file, one.span.line): text}
    cause = f"known point {one.name} is not where the key has it"
    return _mend(sources, one.span, cause, f"{KNOWN_POINT} {one.name}", lines)
