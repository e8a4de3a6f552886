"""Readings to check tomorrow, while the party can still go back: worst first, each with its reason and what to do."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.location.records import PlaceKind, Survey, Suspect
from traverse.log.items import (
    Address,
    Certainty,
    Contact,
    ContactKind,
    Crossing,
    GroundLine,
    UnitHere,
    Words,
    WordsKind,
)
from traverse.log.readings import LineReading, PlaneReading
from traverse.log.records import Log, one_place
from traverse.record import record
from traverse.settled import settled
from traverse.sheet.paper.words import EN_DASH, NO_BREAK, address, along, leg_name, number, plain, quoted
from traverse.sheet.said.cautions import hazard_words
from traverse.sheet.said.field_words import OF_A_HEADING, on_paper, to_do_outdoors
from traverse.sheet.said.stops import Stops, names_by_line
from traverse.source import Span
from traverse.structure.form.records import OnOneLine
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.records import Geology
from traverse.structure.walk.records import Body
from traverse.trade import shared_limits
from traverse.wording import capital, listed, section_name

_BY_CHANCE = 0.05
"""Share of sound walks whose worst leg is asked for all the same; common practice, no source."""
_MANY = 6
"""Names told of a list of stations."""
_EACH_ITS_OWN = frozenset({"party-differs", "party-attitudes", "tie-differs"})
"""Of one kind, but each with a cause of its own."""
_OF_A_RULE = frozenset({"other-rule", "party-attitudes"})
"""What asks about the rule for attitudes of a party."""
_AT_THE_DESK = frozenset(
    {
        "age-spelling",
        "contact-twice",
        "control-unreached",
        "dark-unit",
        "declination-model",
        "hazard-noted",
        "known-height-disagrees",
        "landmark-spelling",
        "large-declination",
        "no-axis",
        "not-in-party",
        "old-declination",
        "outside-zone",
        "pace-counts",
        "party-initials",
        "reading-noted",
        "section-misses",
        "section-without-length",
        "strike-along-section",
        "terrain-elsewhere",
        "terrain-heights",
        "terrain-jumps",
        "terrain-missing",
        "terrain-without-grid",
        "time-backward",
        "units-upside-down",
        "unknown-paper",
        "younger-first",
    }
)
"""Warnings that are mended in the log or at the map; nothing on the ground answers them."""
_NOTED = frozenset({"bed-off"})
"""Notes of what to look at again: too weak to stop for at the desk, and worth a minute where the party stands there."""
_STRETCHED = 0.3
"""A party whose scale is off by more is asked for its lengths: no pace or tape errs so; common practice, no source."""
_SAME_SD = 3.0
"""Standard errors within which two parties met one fault; common practice, no source."""
_OF_SUSPECTS = frozenset({"closure-fails", "closures-disagree", "heights-fail"})
"""Warnings that name the readings which would explain them: those are what is looked at again."""
_MANY_HAZARDS = 3
"""Hazards of one task that are told whole; of more their marks."""


@record(frozen=True, slots=True, kw_only=True)
class Task:
    """One thing to look at again."""

    place: str
    why: str = ""
    """In a sentence or more; empty where what to do says it."""
    do: str = ""
    """What to do, in a sentence; empty where the reason says it."""
    span: Span | None = None
    """The line it speaks of, the first where there are several; None for what concerns the whole log."""
    at: tuple[str, ...] = ()
    """Stations that it sends people to; of a leg both ends."""
    sd_m: float | None = None
    """How near its place is known, one standard deviation; None where no place is looked for, or nothing tells."""
    briefly: str = ""
    """The reason beside such a figure; empty where it is the same."""
    hazards: tuple[str, ...] = ()
    """Marks of the hazards there."""
    hazards_told: str = ""
    """The same in words; empty where there are none."""
    before_going: bool = False
    """The page tells it, and with it whether other tasks are needed: it stands before the walk."""

    @property
    def reason(self) -> str:
        """Why, what to do and the hazards there."""
        return " ".join(one for one in (self.why, self.do, self.hazards_told) if one)


def to_check(trav: Traverse, stops: Stops, diagnostics: Sequence[Diagnostic]) -> tuple[Task, ...]:
    """Everything worth a second look. What a failed loop suggests comes first."""
    told: set[tuple[str, int]] = set()
    asked = {_key(one.span) for one in diagnostics if one.kind == "warning" and one.span}
    first = [
        *_parties_aside(trav, told),
        *_rules_of_parties(trav, diagnostics, told),
        *_suspects(trav.survey, trav.log.lengths, told),
        *_points_left_out(trav, told),
        *_deviations(trav.log, trav.survey, told),
        *_open_loops(trav.survey, trav.log.lengths, told),
    ]
    sights = tuple(_worst_sights(trav.survey, trav.log.lengths, told))
    unsure = (*_doubtful(trav.log, told), *_contacts(trav, stops, told))
    tasks = [
        *first,
        *(one for one in sights if one.span is not None and _key(one.span) in asked),
        *_warnings(trav.log, diagnostics, told),
        # That the worst of sound sights is the worst is no question of what was read there.
        *(one for one in sights if one.span is None or _key(one.span) not in asked),
        *unsure,
        *_without_attitude(trav.log, stops),
        *_without_tops(trav.geology),
        *_without_walls(trav),
        *_open_planes(trav.geology),
        *_without_unit(trav),
        *_faults(trav.geology, stops, told),
    ]
    beside = _hazards_by_station(stops)
    return tuple(_with_hazards(task, beside) for task in tasks)


def _hazards_by_station(stops: Stops) -> Mapping[str, tuple[str, ...]]:
    """Hazards noted at a station or on a leg that ends there, whole."""
    found: dict[str, tuple[str, ...]] = {}
    for mark, hazard in stops.hazards:
        for name in map(plain, _stations_of(hazard.address)):
            found[name] = (*found.get(name, ()), hazard_words(mark, hazard))
    return found


def _with_hazards(task: Task, beside: Mapping[str, tuple[str, ...]]) -> Task:
    """Nobody is sent to a place without the hazard that was noted there."""
    there = list(dict.fromkeys(words for name in task.at for words in beside.get(plain(name), ())))
    if not there:
        return task
    marks = tuple(words.partition(",")[0] for words in there)
    if len(there) > _MANY_HAZARDS:
        told = f"Hazards there: {listed(marks)}; read them in the list of hazards first."
    else:
        told = f"Hazard{'s' if len(there) > 1 else ''} there: {' '.join(there)}"
    return replace(task, hazards=marks, hazards_told=told)


def _stations_of(address: Address) -> tuple[str, ...]:
    if address.station is not None:
        return (address.station,)
    return (address.leg.start, address.leg.end) if address.leg is not None else ()


def in_walking_order(tasks: Sequence[Task], log: Log) -> tuple[Task, ...]:
    """As one would come by them: by the lines of the log, what the page tells before, what has no line at the end."""

    def place(task: Task) -> tuple[bool, bool, tuple[int, int]]:
        nowhere = task.span is None
        return not task.before_going, nowhere, (0, 0) if task.span is None else log.order_of(task.span)

    return tuple(sorted(tasks, key=place))


def _station_spans(log: Log) -> dict[str, Span]:
    """The line that first speaks of each station."""
    spans: dict[str, Span] = {}
    for span, name in sorted(
        (
            *((one.span, one.station) for one in log.addresses if one.station is not None),
            *((leg.span, name) for leg in log.legs for name in (leg.start, leg.end)),
        ),
        key=lambda pair: (pair[0].file != log.file, pair[0].line),
    ):
        spans.setdefault(name, span)
    return spans


def _key(span: Span) -> tuple[str, int]:
    return (span.file, span.line)


def _suspects(survey: Survey, lengths: Lengths, told: set[tuple[str, int]]) -> Iterable[Task]:
    # Of what one closure leaves open, in plan or in height, how many would explain it is told with each.
    closures = (*survey.closures, *(loop for walk in survey.aside for loop in walk.closures))
    open_ones = [one for one in closures if not (one.hung or (one.adjusted and one.adjusted_up))]
    several = len(survey.suspects) + len(survey.unnamed_suspects) if len(open_ones) == 1 else 1
    one_of = f", one of {several} readings that would each explain it" if several > 1 else ""
    # The heading of a party that is left out is asked about with its walk.
    asked = {fit.span for fit in survey.fits if fit.log is not None and fit.cause is not None}
    for one in [one for one in survey.suspects if one.start is not None or one.span not in asked][:4]:
        told.add(_key(one.span))
        if one.left_out:
            missing = plain(one.left_out)
            why = f"No {missing} is on the page, and all else is numbered on by one{one_of}."
            do = f"Look on the page for {missing}, its leg and what was booked there; else walk both legs again."
        else:
            gap = lengths.printed(one.misclosure_after_m)
            why = f"{capital(plain(one.slip))}{one_of}. Then the gap would be {gap}."
            do = f"Look at the page first{', then read the leg again' if one.start else ''}."
        yield Task(
            place=f"{_whose(one)}: was it {plain(one.reading)}?",
            why=why,
            do=do,
            span=one.span,
            at=tuple(name for name in (one.start, one.end) if name is not None),
            before_going=bool(one.left_out),
        )


def _points_left_out(trav: Traverse, told: set[tuple[str, int]]) -> Iterable[Task]:
    """Known points of a camp that all else speaks against; of a single log it may be the last reached that is left out."""
    unused = {name for name, one in trav.survey.places.items() if one.kind is PlaceKind.UNUSED}
    for control in trav.log.controls if trav.log.parties else ():
        if control.name not in unused or _key(control.span) in told:
            continue
        ends = [one for one in trav.survey.closures if control.name in {one.stations[0], one.stations[-1]}]
        told |= {_key(control.span), *(_key(one.span) for one in ends if not one.adjusted)}
        yield Task(
            place=f"Control {plain(control.name)}",
            why="the other known points and the walks to them contradict it, so it is not used.",
            do="Look at its figures on the page first, then take them again.",
            span=control.span,
            at=(control.name,),
        )


def _open_loops(survey: Survey, lengths: Lengths, told: set[tuple[str, int]]) -> Iterable[Task]:
    """What was not adjusted and no reading explains; of what one does, that reading has been told."""
    explained = {one.span for one in (*survey.suspects, *survey.unnamed_suspects)}
    everywhere = any(one.start is None for one in survey.suspects)
    drawn_aside = {one.station for one in survey.deviations_left}
    for one in survey.closures:
        if one.adjusted or one.hung or _key(one.span) in told:
            continue
        told.add(_key(one.span))
        if everywhere or explained & {leg.span for leg in one.legs}:
            continue
        # First it is seen whether the compass there is what leaves it open.
        if drawn_aside & set(one.stations):
            continue
        leg = one.legs[-1]
        gap, about = (
            lengths.printed(max(1.0, one.misclosure.distance_m)),
            lengths.printed(max(1.0, one.expected_m)),
        )
        yield Task(
            place=f"Leg {plain(leg.start)}{EN_DASH}{plain(leg.end)}, and the {one.kind.value} that it closes",
            why=f"it misses by {gap}, where {about} is expected, and no one reading explains it.",
            do="Read its legs again, fore and back.",
            span=one.span,
            at=(leg.start, leg.end),
        )


def _whose(one: Suspect) -> str:
    """The leg, or what else was misread, to begin a sentence."""
    if one.start is None or one.end is None:
        return plain(one.what[:1].upper() + one.what[1:])
    return f"Leg {plain(one.start)}{EN_DASH}{plain(one.end)}"


def _deviations(log: Log, survey: Survey, told: set[tuple[str, int]]) -> Iterable[Task]:
    """Where the compass was drawn aside; that it was is all that the legs read from there and to there have to say."""
    spans = _station_spans(log)
    for one in (*survey.deviations_left, *survey.deviations):
        if abs(one.degrees) < 0.5:
            continue
        told.update(
            _key(leg.booked.span)
            for leg in survey.legs
            if leg.fore_back_deg is not None and one.station in {leg.booked.start, leg.booked.end}
        )
        left = one in survey.deviations_left
        yield Task(
            place=f"Station {plain(one.station)}: compass {number(abs(one.degrees))}° {'high' if one.degrees > 0 else 'low'}",
            why=f"all bearings read there, against the other ends; {'left in' if left else 'taken out'}.",
            do=f"Look for iron, or rock that holds it, and read again some {log.lengths.name} off.",
            span=spans.get(one.station),
            at=(one.station,),
        )


def _worst_sights(survey: Survey, lengths: Lengths, told: set[tuple[str, int]]) -> Iterable[Task]:
    """Fore and back that differ by more than those of nineteen sound walks in twenty anywhere do: less is ordinary scatter.

    Where several differ as much, to the degree that they are read to, none of them is the worst.
    """
    read = [leg for leg in survey.legs if leg.fore_back_deg is not None]
    read.sort(key=lambda leg: -abs(leg.fore_back_deg or 0.0))
    figures = [number(abs(leg.fore_back_deg or 0.0)) for leg in read]
    alone = len(figures) == 1 or figures[:1] != figures[1:2]
    _, least = shared_limits(max(1, len(read)), _BY_CHANCE)
    for rank, leg in enumerate(read[:3]):
        if _key(leg.booked.span) in told:
            continue
        apart = abs(leg.fore_back_deg or 0.0)
        expected = math.sqrt(2.0) * leg.booked.conditions.precision.bearing_deg
        if settled((apart / expected) ** 2, 6) <= least:
            break
        told.add(_key(leg.booked.span))
        most = ", more than on any other leg" if not rank and alone and len(read) > 1 else ""
        yield Task(
            place=f"Leg {plain(leg.booked.start)}{EN_DASH}{plain(leg.booked.end)}, both ends",
            why=f"fore and back differ by {number(apart)}°{most}.",
            do=f"Read again, standing {lengths.about(5.0)} off.",
            span=leg.booked.span,
            at=(leg.booked.start, leg.booked.end),
        )


def _doubtful(log: Log, told: set[tuple[str, int]]) -> Iterable[Task]:
    """Everything with a question mark."""
    for leg in log.legs:
        doubted = [
            one.written
            for one in (leg.bearing, leg.distance, leg.slope, leg.back_bearing, leg.back_slope)
            if one is not None and one.queried
        ]
        if doubted:
            told.add(_key(leg.span))
            yield Task(
                place=f"Leg {plain(leg.start)}{EN_DASH}{plain(leg.end)}",
                why=f"{listed([_mark(words) for words in doubted])}: a figure in doubt.",
                do="Read it again.",
                span=leg.span,
                at=(leg.start, leg.end),
            )
    for item in log.items:
        readings: tuple[PlaneReading | LineReading, ...] = getattr(item, "readings", ())
        doubted = [one.written for one in readings if one.queried]
        if isinstance(item, UnitHere) and item.queried:
            doubted = [item.letters]
        if doubted:
            told.add(_key(item.span))
            yield Task(
                place=capital(address(item.address)),
                why=f"{listed([_mark(words) for words in doubted])}: in doubt.",
                do="Look again.",
                span=item.span,
                at=_stations_of(item.address),
            )


def _mark(words: str) -> str:
    return plain(words).rstrip("?") + "?"


def _contacts(trav: Traverse, stops: Stops, told: set[tuple[str, int]]) -> Iterable[Task]:
    """Contacts nobody saw, the least certain place first, three of them; and those in doubt."""
    unseen = [
        one for one in trav.geology.contacts if one.certainty in {Certainty.INFERRED, Certainty.CONCEALED}
    ]
    unseen += [
        one
        for one in trav.geology.contacts
        if one.certainty is Certainty.APPROXIMATE and one.kind is ContactKind.FAULT
    ]
    unseen.sort(key=lambda one: -one.sd_m)
    chosen = [*unseen[:3], *(one for one in trav.geology.contacts if one.queried and one not in unseen[:3])]
    for one in chosen:
        told.add(_key(one.booked.span))
        sd = None if trav.survey.left_open(one.booked.address) else trav.survey.own_sd_m(one.sd_m)
        dip = ", its dip not read" if one.kind is ContactKind.FAULT and one.dip_deg is None else ""
        placed = (
            f"; now ±{NO_BREAK}{trav.log.lengths.printed(max(1.0, sd))}{NO_BREAK}(1{NO_BREAK}sd)"
            if sd is not None
            else ""
        )
        hidden, do = _hidden(one, trav.log)
        yield Task(
            place=f"{_kind(one)} {stops.contact_numbers[one.booked.span]}, {_on(one.booked)}",
            why=f"{hidden}{placed}{dip}.",
            briefly=f"{hidden}{dip}.",
            sd_m=None if sd is None else max(1.0, sd),
            do=do,
            span=one.booked.span,
            at=_stations_of(one.booked.address),
        )


def _kind(one: PlacedContact) -> str:
    return "Fault" if one.kind is ContactKind.FAULT else "Contact"


def _on(contact: Contact) -> str:
    where = leg_name(contact.address)
    return f"leg{NO_BREAK}{where}" if where else address(contact.address)


def _hidden(one: PlacedContact, log: Log) -> tuple[str, str]:
    """How it is hidden, and where its limits may be found."""
    if one.queried:
        return "in doubt whether it is there, or what it is", "Look again."
    over = next(
        (
            cover
            for cover in log.addresses
            if cover.covered and cover.leg is not None and cover.leg is one.booked.address.leg
        ),
        None,
    )
    if one.certainty is Certainty.CONCEALED:
        banks = "the stream banks and cuts" if _stream_by(one.booked.address, log) else "cuts and banks"
        return "concealed", f"Try {banks} to either side."
    if over is not None:
        return (
            f"under {plain(over.words or 'cover')}, {', '.join(along(over))}",
            "The last fragments of each side set its limits.",
        )
    return one.certainty.value if one.certainty else "not seen", "Look for it to either side of the walk."


def _stream_by(address: Address, log: Log) -> bool:
    """Whether a stream was booked on its leg, or on one that meets it there."""
    here = set(_stations_of(address))
    return any(
        isinstance(item, Crossing)
        and item.kind is GroundLine.STREAM
        and bool(here & set(_stations_of(item.address)))
        for item in log.items
    )


def _parties_aside(trav: Traverse, told: set[tuple[str, int]]) -> Iterable[Task]:
    """Parties that are left out: outdoors their compass and their pace can be held against others."""
    fits = {fit.log: fit for fit in trav.survey.fits if fit.log is not None}
    for walk in trav.survey.aside:
        party = trav.log.parties[walk.party]
        fit = fits.get(party.file)
        span = (fit.span if fit is not None else None) or party.span
        cause = "" if fit is None or fit.cause is None else f"; likely cause: {plain(fit.cause)}"
        by_length = fit is not None and abs(fit.scale - 1.0) > _STRETCHED
        told.add(_key(span))
        whose = party.letters or party.file
        yield Task(
            place=f"Walk of {plain(whose)}, tied at {plain(walk.hangs_on)}",
            why=f"it does not fit on the walks of the others, and is left out{cause}.",
            briefly=f"does not fit, left out{'' if not cause else ':' + cause.partition(':')[2].partition(':')[0]}.",
            do=(
                "Ask in what its lengths were measured, and measure one of its legs again."
                if by_length
                else "Hold its compass beside another, and walk one of its legs again."
            ),
            span=span,
            at=(walk.hangs_on,),
        )


def _rules_of_parties(
    trav: Traverse, diagnostics: Sequence[Diagnostic], told: set[tuple[str, int]]
) -> Iterable[Task]:
    """Parties of several whose rule for attitudes is asked about: another party can stand at one of their beds."""
    parties = {one.file: one for one in trav.log.parties if one.file in trav.geology.doubted_rules}
    for one in diagnostics:
        if one.code not in _OF_A_RULE or one.span is None or one.span.file not in parties:
            continue
        told.add(_key(one.span))
        party = parties[one.span.file]
        yield Task(
            place=f"Attitudes of {plain(party.letters or party.file)}",
            why=f"{capital(on_paper(plain(quoted(one.message))))}. They count in nothing until then.",
            briefly="Its rule is asked about, and they count in nothing.",
            do="Ask who read them, and read one of its beds again together.",
            span=one.span,
        )


def _warnings(log: Log, diagnostics: Sequence[Diagnostic], told: set[tuple[str, int]]) -> Iterable[Task]:
    """Open warnings of lines that nothing above speaks of; those of one kind together, by station where they have one.

    What stands at no station, on no leg and in no section is mended at the desk: there is nowhere to go for it.
    """
    stations = names_by_line(log)
    sections = {_key(one.span): plain(section_name(one.name)) for one in log.sections}
    groups: dict[tuple[str, str], list[Diagnostic]] = {}
    for one in diagnostics:
        if one.code in _AT_THE_DESK or (one.code in _OF_SUSPECTS and one.labels):
            continue
        if (one.kind == "warning" or one.code in _NOTED) and (one.span is None or _key(one.span) not in told):
            groups.setdefault((one.code, one.message if one.code in _EACH_ITS_OWN else ""), []).append(one)
    for group in groups.values():
        first = group[0]
        spans = [one.span for one in group if one.span is not None]
        found = list(dict.fromkeys(plain(stations.get(_key(span)) or "") for span in spans))
        lines = [sections.get(_key(span), "") for span in spans]
        kinds: tuple[tuple[str, list[str]], ...]
        if lines and all(lines):
            kinds = (("section", lines),)
        elif all(found):
            kinds = (
                ("station", [name for name in found if EN_DASH not in name]),
                ("leg", [name for name in found if EN_DASH in name]),
            )
        elif first.code in OF_A_HEADING:
            kinds = ()
        else:
            continue
        places = [f"{kind}{'s' if len(names) > 1 else ''} {_some(names)}" for kind, names in kinds if names]
        words = on_paper(plain(quoted(first.message)))
        if lines and lines[0]:
            words = words.replace(f"section {lines[0]}", "it", 1)
        if len(group) > 1:
            words += "; the other likewise" if len(group) == 2 else "; the others likewise"
        hint = to_do_outdoors(first) if len(group) == 1 else ""
        called, of_heading = OF_A_HEADING.get(first.code, ("", "")) if not places else ("", "")
        whose = [letters for letters in dict.fromkeys(log.whose(span) for span in spans) if letters]
        if called and whose:
            called = f"{called} of {listed(whose)}"
        yield Task(
            place=called or capital("; ".join(places)),
            why=f"{words}.",
            do=of_heading or hint,
            span=min(spans, key=log.order_of, default=None),
            at=tuple(end for name in found for end in name.split(EN_DASH)),
        )


def _without_attitude(log: Log, stops: Stops) -> Iterable[Task]:
    # A bed on a leg has the station that the leg starts from for its own; nobody measured one there.
    measured = {one.station for one in stops.attitudes.values() if one.booked.address.station is not None}
    without_beds = log.intrusive | {unit.letters for unit in log.units if unit.loose}
    rocky: dict[str, Span] = {}
    for item in log.items:
        if isinstance(item, Words) and item.kind is WordsKind.ROCK and item.address.station is not None:
            rocky.setdefault(item.address.station, item.span)
    same = one_place(log.ties)
    # In an intrusive body and in loose ground there are no beds to measure; what is tied exactly is measured where one of its names is.
    spans = {
        plain(name): span
        for name, span in rocky.items()
        if measured.isdisjoint(map(plain, same.get(name, (name,))))
        and (stops.unit_at(name) or "").rstrip("?") not in without_beds
    }
    bare = list(spans)
    if bare:
        yield Task(
            place=f"Station{'s' if len(bare) > 1 else ''} {_some(bare)}",
            why="rock but no attitude: the beds there rest on their neighbours.",
            do="Is any surface good enough?",
            span=spans[bare[0]],
            at=tuple(bare),
        )


def _without_tops(geology: Geology) -> Iterable[Task]:
    """Beds whose way-up nobody saw, where it was seen elsewhere or some are said to be overturned."""
    beds = geology.beds
    if not any(bed.tops is not None or bed.overturned for bed in beds):
        return
    # Several beds of one place share what was seen there.
    seen = list(dict.fromkeys(map(_where_read, (bed for bed in beds if bed.tops is not None))))
    without = [bed for bed in beds if _where_read(bed) not in seen]
    if without:
        bare = list(dict.fromkeys(map(_where_read, without)))
        elsewhere = f" It was seen at {_some([name for _, name in seen])} alone." if seen else ""
        yield Task(
            place=_listed_places(bare),
            why=f"no way-up seen.{elsewhere}",
            do="Look for graded beds, cross-beds, scour.",
            span=without[0].span,
            at=tuple(name for bed in without for name in _stations_of(bed.booked.address)),
        )


def _where_read(bed: PlaneAttitude) -> tuple[bool, str]:
    """Whether it was read at a station; and its name, or else the place on the leg."""
    where = bed.booked.address
    return where.station is not None, plain(address(where) if where.station is None else where.station)


def _listed_places(places: Sequence[tuple[bool, str]]) -> str:
    """`Stations 1, 5 and 6; leg 2–3, 20p`."""
    names = [name for at_station, name in places if at_station]
    on_legs = [name for at_station, name in places if not at_station]
    stations = f"station{'s' if len(names) > 1 else ''} {_some(names)}" if names else ""
    return capital("; ".join(filter(None, (stations, *on_legs[:_MANY]))))


def _without_walls(trav: Traverse) -> Iterable[Task]:
    """Intrusive bodies that nothing tells the course of, one line for each unit."""
    bare: dict[str, list[Body]] = {}
    for body in trav.geology.bodies:
        if not body.read_at and any(end.wall is not None or end.host is not None for end in body.ends):
            bare.setdefault(body.unit, []).append(body)
    for unit, bodies in bare.items():
        legs = [trav.log.legs[one.leg] for body in bodies for one in body.stretches if one.leg is not None]
        names = list(dict.fromkeys(f"{plain(leg.start)}{EN_DASH}{plain(leg.end)}" for leg in legs))
        # Its walls may not be booked, and the unit itself is.
        seen = [wall.booked.span for body in bodies for wall in body.walls] or [
            item.span
            for item in trav.log.items
            if isinstance(item, UnitHere) and item.letters == unit and item.address.leg in legs
        ]
        yield Task(
            place=f"Leg{'s' if len(names) > 1 else ''} {_some(names)}",
            why=f"no wall of {plain(unit)} was measured, so nothing tells which way it runs or goes down.",
            do="Is one laid bare?",
            span=seen[0] if seen else legs[0].span,
            at=tuple(name for leg in legs for name in (leg.start, leg.end)),
        )


def _open_planes(geology: Geology) -> Iterable[Task]:
    """Contacts whose places lie on one line, so that how they lie stays open."""
    for told in geology.findings:
        if isinstance(told.finding, OnOneLine):
            met = [one for one in geology.contacts if one.booked.span in told.finding.plane.lines]
            if not met:
                continue
            names = f"{plain(told.finding.plane.younger)}/{plain(told.finding.plane.older)}"
            yield Task(
                place=f"Contact {names}, beside the line of its places",
                why="its places lie on one line, so its strike and dip stay open.",
                do="Look for it beside that line, or read it where it is laid bare.",
                span=met[0].booked.span,
                at=tuple(dict.fromkeys(name for one in met for name in _stations_of(one.booked.address))),
            )


def _without_unit(trav: Traverse) -> Iterable[Task]:
    """A walk on which nobody named a unit, though it was a walk over ground of which something was read."""
    if trav.log.units or not trav.geology.attitudes:
        return
    names = list(dict.fromkeys(one.station for one in trav.geology.attitudes))
    yield Task(
        place=f"Station{'s' if len(names) > 1 else ''} {_some([plain(name) for name in names])}",
        why="no unit was named, so no ground is told from another.",
        do="Name the rock at each, and look for where it changes.",
        span=min((one.span for one in trav.geology.attitudes), key=trav.log.order_of),
        at=tuple(names),
    )


def _same_fault(one: PlacedContact, other: PlacedContact) -> bool:
    """Whether two parties met one fault, as near as either knows its place."""
    apart = math.dist((one.place.east_m, one.place.north_m), (other.place.east_m, other.place.north_m))
    near = _SAME_SD * math.hypot(one.sd_m, other.sd_m)
    of_two = one.booked.span.file != other.booked.span.file
    return (
        of_two
        and {one.younger, one.older} == {other.younger, other.older}
        and settled(apart - near, 6) <= 0.0
    )


def _faults(geology: Geology, stops: Stops, told: set[tuple[str, int]]) -> Iterable[Task]:
    asked: list[PlacedContact] = []
    upright = {
        point.contact.booked.span
        for section in geology.sections
        for point in section.points
        if point.contact is not None
    }
    for one in geology.contacts:
        # Of a fault that was read at another place its plane is known.
        if one.kind is ContactKind.FAULT and one.dip_deg is None and one.surface is None:
            again = any(_same_fault(one, other) for other in asked)
            asked.append(one)
            if again or _key(one.booked.span) in told:
                continue
            yield Task(
                place=f"Fault {stops.contact_numbers[one.booked.span]}, {_on(one.booked)}",
                why=f"dip not read{', so it is drawn upright in the section' if one.booked.span in upright else ''}.",
                do="Read it where its plane is laid bare.",
                span=one.booked.span,
                at=_stations_of(one.booked.address),
            )


def _some(names: Sequence[str]) -> str:
    """A list of names, cut when it is long."""
    if len(names) <= _MANY:
        return listed(names)
    return f"{', '.join(names[: _MANY - 1])} and {len(names) - _MANY + 1} more"
