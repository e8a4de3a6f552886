"""The title block: what, when and who."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.ground.records import Traverse
from traverse.log.records import Log
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Face, Item, Text
from traverse.sheet.paper.style import LARGE, SMALL, TITLE
from traverse.sheet.paper.words import cut, cut_lines, dates, plain, title_parts
from traverse.sheet.said.cautions import not_stated
from traverse.sheet.said.sentences import named_structure
from traverse.structure.records import Geology

_LESS_TITLES = (17.5, 16.0)
_SECOND_TITLE = 13.5
"""Size of a title that takes two lines, in points."""
_GAP_MM = 3.0
KINDS = {"key": "", "blank": "blank", "grey": "for copying"}
"""What stands over the days; a sheet that shows all has no word of its own: "key" was taken for the leader's."""


ASIDE = 0.42
"""Of the width of a band: what days and party, or lines to fill in, take of it at most."""
_BESIDE_MM = 6.0


def subtitle_width_mm(width: float, *, band: bool) -> float:
    """What a subtitle may take beside lines as long as they may be."""
    return width * (1.0 - ASIDE) - _BESIDE_MM if band else width


def title_block(
    trav: Traverse,
    *,
    width: float,
    kind: str = "key",
    band: bool = False,
    lines: Sequence[str] | None = None,
) -> Block:
    """Title, subtitle, days with their weather, party. Long words are cut with an ellipsis, never off the page.

    `band` is the wide form for upright paper, 14 high: title and subtitle to the left, kind, days and party to the
    right on the same bases. Else it is 22 high at most, and lower by the lines that say nothing.
    `lines` stand in place of days and party.
    """
    title, subtitle = title_parts(trav.log)
    named = None if kind == "blank" else _with_structure(title, subtitle, trav.geology)
    room = ASIDE * width if band else width
    notes = [*lines] if lines is not None else days_and_party(trav.log, room)
    kind_words = KINDS.get(kind, kind)
    if band:
        return _band(title, subtitle, notes, kind_words, width=width, named=named)
    kind_width = text_width_mm(kind_words, Face.SEMIBOLD, LARGE)
    items: list[Item] = [_kind(kind_words, width, -6.4)] if kind_words else []
    y = _headline(items, title, width=width - kind_width - _GAP_MM)
    subtitle = _fitting(named, subtitle, width)
    if subtitle:
        # The full width is free below the kind.
        y -= 5.4
        items.append(
            Text(
                at=(0.0, y),
                text=cut(subtitle, Face.SEMIBOLD, LARGE, width),
                face=Face.SEMIBOLD,
                size_pt=LARGE,
            )
        )
    y -= 1.2
    for line in notes:
        y -= 3.3
        items.append(Text(at=(0.0, y), text=_short(line, width), size_pt=SMALL))
    return Block(items=tuple(items), height=2.4 - y)


def _with_structure(title: str, subtitle: str, geology: Geology) -> str | None:
    """`Loop 2: overturned syncline`; None where nothing was recognised or the author says it."""
    named = named_structure(geology)
    form = None if named is None else named.finding.form
    words = None if named is None else named.finding.form_name
    if form is None or words is None or ":" in subtitle or form.kind.value in f"{title} {subtitle}".lower():
        return None
    return f"{subtitle}: {words}" if subtitle else words.capitalize()


def _fitting(named: str | None, subtitle: str, width: float) -> str:
    """With the name of the structure where that fits, else without."""
    fits = named is not None and text_width_mm(named, Face.SEMIBOLD, LARGE) <= width
    return named if named is not None and fits else subtitle


def _headline(items: list[Item], title: str, *, width: float, top: float = 0.0) -> float:
    """Draw the title on one line, a little smaller where it must be, else on two; return its last base."""
    for size_pt in (TITLE, *_LESS_TITLES):
        if text_width_mm(title, Face.BOLD, size_pt) <= width:
            items.append(Text(at=(0.0, top - 6.4), text=title, face=Face.BOLD, size_pt=size_pt))
            return top - 6.4
    lines = cut_lines(title, Face.BOLD, _SECOND_TITLE, width, most=2)
    y = top - 4.6
    for line in lines:
        items.append(Text(at=(0.0, y), text=line, face=Face.BOLD, size_pt=_SECOND_TITLE))
        y -= 5.4
    return y + 5.4


def _band(
    title: str,
    subtitle: str,
    notes: Sequence[str],
    kind: str,
    *,
    width: float,
    named: str | None,
) -> Block:
    items: list[Item] = [_kind(kind, width, -5.4)] if kind else []
    # Days on the base of the kind's next line, party below: the left side takes the rest of the width.
    lines = [*notes]
    aside = min(
        width * ASIDE,
        max([text_width_mm(line, Face.REGULAR, SMALL) for line in lines] or [0.0]),
    )
    y = _headline(
        items,
        title,
        top=0.6,
        width=width - max(aside, text_width_mm(kind, Face.SEMIBOLD, LARGE)) - _BESIDE_MM,
    )
    subtitle = _fitting(named, subtitle, width - aside - _BESIDE_MM)
    if subtitle:
        y = min(y - 5.0, -11.6)
        items.append(
            Text(
                at=(0.0, y),
                text=cut(subtitle, Face.SEMIBOLD, LARGE, width - aside - _BESIDE_MM),
                face=Face.SEMIBOLD,
                size_pt=LARGE,
            )
        )
    base = -8.6
    for line in lines:
        items.append(
            Text(at=(width, base), text=_short(line, aside + 0.01), size_pt=SMALL, anchor=Anchor.END)
        )
        base -= 3.3
    return Block(items=tuple(items), height=max(14.0, 2.4 - y))


def _kind(words: str, width: float, base: float) -> Text:
    return Text(at=(width, base), text=words, face=Face.SEMIBOLD, size_pt=LARGE, anchor=Anchor.END)


def days_and_party(log: Log, width: float) -> list[str]:
    """Days with their weather, and the party, as lines; and which of them the log does not state."""
    return [line for line in (_days(log), _party(log, width), not_stated(log)) if line]


def _days(log: Log) -> str:
    heading = log.heading
    days = dates(day.date for day in heading.days)
    weather = "; ".join(dict.fromkeys(plain(words) for words in heading.weather if plain(words)))
    return " · ".join(words for words in (days, weather) if words)


def _party(log: Log, width: float) -> str:
    """Names where they fit, else initials."""
    party = log.heading.party
    names = " · ".join(plain(person.name or person.initials) for person in party)
    if text_width_mm(names, Face.REGULAR, SMALL) <= width:
        return names
    return " · ".join(plain(person.initials) for person in party)


def _short(line: str, width: float) -> str:
    return cut(line, Face.REGULAR, SMALL, width)
