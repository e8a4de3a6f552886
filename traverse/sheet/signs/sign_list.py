"""The legend of signs: those that are on the sheet, each drawn from the table that the map draws from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from itertools import cycle, groupby, pairwise
from types import MappingProxyType
from typing import TypeAlias, assert_never

from traverse.ground.records import Traverse
from traverse.log.items import Certainty, ContactKind
from traverse.log.records import Log
from traverse.record import record
from traverse.sheet.paper.block import framed
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Face, Item, Path, Pen, Text, polyline
from traverse.sheet.paper.style import PENS, SMALL, line_mm
from traverse.sheet.paper.words import wrap
from traverse.sheet.said.sentences import control_source
from traverse.sheet.signs.symbols import (
    HEADINGS,
    LIKE_ON_MAP,
    LINES,
    ON_LINE,
    PARTY_SIGNS,
    SECTION_LINES,
    SIGNS,
    SignHeading,
    offsets,
    symbol,
)
from traverse.sheet.signs.wave import waved
from traverse.wording import listed

SIGN_PITCH_MM = 4.02
TIGHT_SIGN_PITCH_MM = 3.7
SAMPLE_MM = 8.6
"""Length of a line as the legend shows it."""
_WORDS_MM = 10.2
"""From the left of a sample to its words."""
NAMED_THERE = frozenset({"section line", "contour"})
"""Lines that letters and words on the map name: they need no row but beside one that looks like them."""
LIKE_NAMED: Mapping[str, tuple[str, ...]] = MappingProxyType({"section line": ("axial surface",)})
"""Lines by which one of those might be taken for another: both of long and short dashes."""
_AFTER_MM = 0.5
"""After words."""
_BESIDE_MM = 1.1
"""The same beside a second column, whose samples may begin with a dot that stands out to the left."""
_BASE_MM = 0.85
"""Base of the words below the middle of the sample."""
_FIRST_MM = 7.3
"""Middle of the first sample below the rule."""
_OVER_FIRST_MM = 2.0
_BETWEEN_MM = 0.7
_AIR_MM = 0.5
"""Between what is drawn in two rows."""
_SHARES = (0.53, 0.5, 0.56, 0.47, 0.6, 0.44)
"""Of the first column in the width, the usual one first."""
_ORDER = tuple(
    dict.fromkeys(
        (
            *(name for name, heading in HEADINGS.items() if heading is not SignHeading.SECTION),
            *SECTION_LINES,
            *HEADINGS,
        )
    )
)
"""Of the legend: the lines of a section stand before its apparent dips."""


@record(frozen=True, slots=True, kw_only=True)
class Entry:
    """A row of the list: what is drawn, from its left and the middle of the row, and what it means."""

    draw: Callable[[float, float], Sequence[Item]]
    words: str


def in_legend_order(names: Iterable[str]) -> list[str]:
    """As they stand in the table of signs."""
    wanted = set(names)
    return [name for name in _ORDER if name in wanted]


def listed_signs(signs: Iterable[str]) -> list[str]:
    """The rows of the list: signs that stand on a line or belong to another row have none of their own."""
    names = in_legend_order(signs)
    # What is shown together with another is one row: a leg and its stations, a shot and its end, a fault and its ball.
    hidden = {name for name in names if name in SIGNS and SIGNS[name].row_of in names}
    hidden |= {name for name in NAMED_THERE if not set(LIKE_NAMED.get(name, ())) & set(names)}
    if "fault down" in names:
        hidden.add("fault certain")
    if "computed trace" in names:
        # A heavier one among them is a fault, as among the contacts.
        hidden.add("computed fault trace")
    hidden |= {name for name, like in LIKE_ON_MAP.items() if like in names}
    return [name for name in names if name not in hidden]


class SignList:
    """The signs of a sheet, each measured once for all widths and parts that its pages are tried with, in one look.

    `signs` are names of `symbols.LINES`, `SECTION_LINES` and `SIGNS`, in any order. `half_m` is how far to each side of the
    walk the ground was looked at, in metres.
    """

    def __init__(self, signs: Sequence[str], trav: Traverse, *, half_m: float | None = None) -> None:
        self.signs, self.trav, self.half_m = tuple(signs), trav, half_m
        self.names = listed_signs(signs)
        """Its rows."""
        self._measured: _MeasuredEntries | None = None

    def block(self, *, width: float, pitch: float = SIGN_PITCH_MM, part: slice = slice(None)) -> Block | None:
        """Those rows in two columns, each sign by the table that map and section drew it from; None without any.

        `part` are the rows to draw, where a page can't hold all. Words that are too long go on in a second line.
        """
        if not self.names[part]:
            return None
        if self._measured is None:
            self._measured = _MeasuredEntries(self._entries())
        listed = self._measured.in_columns(part, width=width, pitch=pitch)
        goes_on = ", continued" if part.start else ""
        items = [*framed(f"Signs on this sheet{goes_on}", width=width), *listed.at(0.0, -_FIRST_MM)]
        return Block(items=tuple(items), height=_FIRST_MM + listed.height + 1.1)

    def _entries(self) -> list[Entry]:
        special = dict(sign_words(self.trav))
        if self.half_m is not None:
            seen = self.trav.log.lengths.printed(self.half_m)
            special["edge of ground seen"] = (
                f"ground seen to {seen}" if self.trav.ground.width.asked else f"seen to {seen}, assumed"
            )
        present = frozenset(self.signs)
        return [
            Entry(
                draw=partial(sample, name, present=present),
                words=special.get(name)
                or _words_alone(name, self.signs)
                or SECTION_LINES.get(name)
                or SIGNS[name].words,
            )
            for name in self.names
        ]


def signs_block(
    signs: Sequence[str],
    trav: Traverse,
    *,
    width: float,
    pitch: float = SIGN_PITCH_MM,
    half_m: float | None = None,
) -> Block | None:
    """All of a `SignList`, where it is drawn once."""
    return SignList(signs, trav, half_m=half_m).block(width=width, pitch=pitch)


def _words_alone(name: str, signs: Sequence[str]) -> str:
    """Words of a line of the map, without what is not on it: `axial trace` where no plunge is drawn."""
    words = LINES.get(name, "")
    line, comma, head = words.partition(", ")
    heads = ON_LINE.get(name, ())
    return line if comma and head and heads and not set(heads) & set(signs) else words


# --- rows -----------------------------------------------------------------------------------------------------


@record(frozen=True, kw_only=True)
class _DrawnEntry:
    """An entry and what its drawing takes above the middle of the row, and below it."""

    entry: Entry
    up: float
    down: float


@record(frozen=True, kw_only=True)
class _SignRow:
    entry: Entry
    lines: tuple[str, ...]
    up: float
    """With its words."""
    down: float


_Rows: TypeAlias = Callable[[float], list[_SignRow]]
"""Rows with their words broken to a width."""


def in_columns(entries: Sequence[Entry], *, width: float, pitch: float) -> Block:
    """Rows in two columns, or in one where a word is wider than half; its top is the middle of the first row.

    No word is ever cut: lines are broken, and what is taller than the usual row takes the room it needs.
    """
    return _MeasuredEntries(entries).in_columns(slice(None), width=width, pitch=pitch)


class _MeasuredEntries:
    """Entries, with what their drawings take and how their words break at each width that was asked for."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        self._drawn = [_drawn(entry) for entry in entries]
        self._longest = [_longest(entry.words) for entry in entries]
        self._rows: dict[float, list[_SignRow]] = {}

    def rows(self, width: float) -> list[_SignRow]:
        """All of them."""
        if width not in self._rows:
            self._rows[width] = [_row(one, width) for one in self._drawn]
        return self._rows[width]

    def in_columns(self, part: slice, *, width: float, pitch: float) -> Block:
        """Some of them, as `in_columns`."""
        return _in_columns(
            lambda own: self.rows(own)[part], max(self._longest[part], default=0.0), width, pitch
        )


def _in_columns(rows: _Rows, longest: float, width: float, pitch: float) -> Block:
    """Of rows as they are at a width; the longest word is so wide."""
    best: tuple[float, float, list[list[_SignRow]]] | None = None
    for share in _SHARES:
        widths = (share * width, (1.0 - share) * width)
        if longest > min(widths[0] - _BESIDE_MM, widths[1] - _AFTER_MM) - _WORDS_MM:
            continue
        columns = _two_columns(rows, widths, pitch)
        high = max(_height(column, pitch) for column in columns)
        if best is None or high < best[0] - 0.1:
            best = (high, widths[0], columns)
        if all(len(row.lines) == 1 for column in columns for row in column):
            break
    if best is None:
        only = rows(width - _AFTER_MM)
        best = (_height(only, pitch), width, [only])
    high, first, columns = best
    items: list[Item] = []
    for index, column in enumerate(columns):
        left, y = index * first, -_lower(column)
        for above, row in zip((None, *column), column, strict=False):
            if above is not None:
                y -= _step(above, row, pitch)
            items += row.entry.draw(left, y)
            items += [
                Text(at=(left + _WORDS_MM, y - _BASE_MM - line * line_mm(SMALL)), text=words, size_pt=SMALL)
                for line, words in enumerate(row.lines)
            ]
    return Block(items=tuple(items), height=high)


def _longest(words: str) -> float:
    return max(text_width_mm(word, Face.REGULAR, SMALL) for word in words.split(" "))


def _drawn(entry: Entry) -> _DrawnEntry:
    heights = [
        y
        for item in entry.draw(0.0, 0.0)
        if isinstance(item, Path)
        for _, *numbers in item.commands
        for y in numbers[1::2]
    ]
    return _DrawnEntry(entry=entry, up=max(heights, default=0.0), down=-min(heights, default=0.0))


def _row(drawn: _DrawnEntry, width: float) -> _SignRow:
    lines = wrap(drawn.entry.words, Face.REGULAR, SMALL, width - _WORDS_MM)
    return _SignRow(
        entry=drawn.entry,
        lines=lines,
        up=max(0.9, drawn.up),
        down=max(_BASE_MM + 0.6 + (len(lines) - 1) * line_mm(SMALL), drawn.down),
    )


def _step(above: _SignRow, below: _SignRow, pitch: float) -> float:
    # Words that go on below stay nearer to their own than to the next.
    lines = len(above.lines) * line_mm(SMALL) + _BETWEEN_MM if len(above.lines) > 1 else 0.0
    return max(pitch, above.down + below.up + _AIR_MM, lines)


def _height(rows: Sequence[_SignRow], pitch: float) -> float:
    """From the middle of the first row to the end of the last."""
    steps = sum(_step(above, below, pitch) for above, below in pairwise(rows))
    return _lower(rows) + steps + max(rows[-1].down, pitch / 2) if rows else 0.0


def _lower(rows: Sequence[_SignRow]) -> float:
    """How much lower the first row stands so that what is tall in it clears the heading."""
    return max(0.0, rows[0].up - _OVER_FIRST_MM) if rows else 0.0


def _two_columns(rows: _Rows, widths: tuple[float, float], pitch: float) -> list[list[_SignRow]]:
    """Split where both columns end nearest to each other, the first the longer one of two equals."""
    wide, narrow = rows(widths[0] - _BESIDE_MM), rows(widths[1] - _AFTER_MM)
    count = len(wide)
    if count < 2:
        return [wide]

    def high(split: int) -> float:
        return max(_height(wide[:split], pitch), _height(narrow[split:], pitch))

    start = -(-count // 2)
    split = min(
        range(max(1, start - 6), min(count, start + 6) + 1),
        key=lambda one: (round(high(one), 3), abs(one - start)),
    )
    return [wide[:split], narrow[split:]]


# --- samples --------------------------------------------------------------------------------------------------


def _whole(pen: Pen) -> float:
    """Length of a sample that ends with a whole dash, where two of them have room."""
    shown, at = 0.0, 0.0
    for index, length in enumerate(cycle(pen.dash_mm)):
        at += length
        if at > SAMPLE_MM + _AIR_MM:
            break
        shown = at if index % 2 == 0 else shown
    return shown if shown > 0.7 * SAMPLE_MM else SAMPLE_MM


def sample(name: str, left: float, y: float, present: Iterable[str] | None = None) -> list[Item]:
    """A line or sign as it is drawn, in the legend's left margin; a line with what stands on it, of those `present`."""
    middle, right = left + SAMPLE_MM / 2, left + SAMPLE_MM
    if name in LINES or name in SECTION_LINES:
        on_it = ON_LINE.get(name, ())
        shown = on_it if present is None else [one for one in on_it if one in present]
        if not shown:
            right = left + _whole(PENS[name])
        line = [(left, y), (right, y)]
        on = waved(line) if name in {"unconformity in section", "unconformity at depth"} else line
        items: list[Item] = [Path(commands=polyline(on), pen=PENS[name])]
        for one in shown:
            for x in _stands(one, left, right):
                items.extend(symbol(one, (x, y), turn_deg=90.0))
        return items
    sign = SIGNS[name]
    if sign.shown_on is not None:
        height = y + 0.6 if sign.tip > 0.0 and not name.endswith("-lateral") else y
        carries = Path(commands=polyline([(left, height), (right, height)]), pen=PENS[sign.shown_on])
        return [carries, *symbol(name, (middle, height), turn_deg=90.0)]
    if name == "queried":
        letter = Text(
            at=(middle, y - _BASE_MM), text="?", face=Face.ITALIC, size_pt=SMALL, anchor=Anchor.MIDDLE
        )
        return [*symbol(name, (middle, y), turn_deg=90.0), letter]
    turn = 60.0 if HEADINGS[name] is SignHeading.SECTION else 90.0
    arrow = sign.figure is not None and sign.figure[0] == 0.0
    dips = sign.figure is not None and not arrow
    centred = not arrow or name.endswith(" level")
    at = (
        left + sign.reach if dips else middle if centred else middle - sign.reach / 2,
        y + (0.4 if dips else 0.0),
    )
    items = list(symbol(name, at, turn_deg=turn))
    if dips:
        # The figure stands off the bar's end here, so that rows may follow each other closely.
        ((fx, fy),) = offsets(at, [(0.9, sign.reach + 1.0)], turn_deg=turn)
        items.append(Text(at=(fx - 0.6, fy - 0.8), text="35", face=Face.ITALIC, size_pt=SMALL))
    return items


def _stands(name: str, left: float, right: float) -> tuple[float, ...]:
    """Where along the sample of its line a sign stands: the usual place is the far end."""
    sign = SIGNS[name]
    if name == "flow":
        return ((left + right) / 2 + 0.6,)
    if name == "station":
        return (left + sign.reach, right - sign.reach)
    return (right,) if sign.turns else (right - sign.reach,)


def _station_words(log: Log) -> dict[str, str]:
    """Whose stations have which sign, where there are several parties."""
    letters = log.party_letters
    if len(letters) < 2:
        return {}
    of = [", ".join(letters[at :: len(PARTY_SIGNS)]) for at in range(len(PARTY_SIGNS))]
    words = {sign: f"station of {whose}" for sign, whose in zip(PARTY_SIGNS, of, strict=True) if whose}
    first = letters[0]
    words["leg"] = f"station of {of[0]} ({first}-7: its 7); leg"
    del words["station"]
    return words


def sign_words(trav: Traverse) -> Mapping[str, str]:
    """Words of signs that say more than their table: how near contacts are placed, what held the start."""
    lengths = trav.log.lengths
    words: dict[str, str] = {}
    contacts = sorted(
        (one for one in trav.geology.contacts if one.certainty is not None),
        key=lambda one: list(Certainty).index(one.certainty or Certainty.CERTAIN),
    )
    most_m, told = 1.0, ""
    for certainty, group in groupby(contacts, key=lambda one: one.certainty):
        found = [one for one in group if one.kind is not ContactKind.FAULT]
        if not found or certainty is None:
            continue
        # Never better than the class above it, whose contacts may stand where the walk itself is worse.
        most_m = max(most_m, *(trav.survey.own_sd_m(one.sd_m) or 0.0 for one in found))
        most = lengths.printed(most_m)
        if most == told:
            # No worse than the class above: the figure would say one thing twice.
            continue
        told = most
        name = f"contact {certainty.value}"
        match certainty:
            case Certainty.CERTAIN:
                words[name] = f"contact, within\u00a0{most}"
            case Certainty.APPROXIMATE:
                words[name] = f"approximate, {most}"
            case Certainty.INFERRED | Certainty.CONCEALED:
                words[name] = LINES[name]
            case _:
                assert_never(certainty)
    control = trav.log.controls[0] if trav.log.controls else None
    if control is not None and len(trav.log.controls) == 1:
        source = control_source(control)
        held = (
            "held"
            if control.sd_plan_m is None
            else lengths.with_unit(f"±\u00a0{lengths.error(control.sd_plan_m)}")
        )
        inside = " ".join(part for part in (source if len(source) <= 8 else "", held) if part)
        words["control"] = f"control ({inside})"
    if any(one.span in trav.geology.doubted for one in trav.geology.attitudes):
        of = [one.letters or "" for one in trav.log.parties if one.file in trav.geology.doubted_rules]
        words["bedding"] = f"bedding, dip; 35?{f' of {listed(of)}' if of else ''}: in no mean"
    words["leg"] = "station; leg"
    words["spur"] = "side shot"
    words |= _station_words(trav.log)
    left_out = [trav.log.parties[one.party].letters or "" for one in trav.survey.aside]
    by_tie = [one.letters or "" for one in trav.log.parties if one.by_open_tie]
    loose = [one.letters or "" for one in trav.log.parties if one.hung and not one.by_open_tie]
    dashed = [f"{listed(left_out)} left out: no fit"] if left_out else []
    dashed += [f"{listed(loose)}: its own loop fails"] if len(loose) == 1 else []
    dashed += [f"{listed(loose)}: their own loops fail"] if len(loose) > 1 else []
    dashed += [f"{listed(by_tie)}: two ties disagree"] if by_tie else []
    if dashed:
        words["walk aside"] = "; ".join(dashed)
    return words
