"""The page of a party, the leader's table, and what several parties measured; upright A4."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.compare.records import Comparison, Scheme, SharedOutcrop, total
from traverse.length import Lengths
from traverse.sheet.compared.handed import Handed, stations_said
from traverse.sheet.compared.walks_block import ALONE_MM, HIGH_MM, walks_block
from traverse.sheet.paper.block import page_head, text_block
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.look import SHIPPED, drawn_with
from traverse.sheet.paper.page import Block, Box
from traverse.sheet.paper.style import HEAD
from traverse.sheet.paper.table import Column, Row, Table, flow
from traverse.sheet.paper.words import arrow, degrees, number, plain
from traverse.wording import listed

_WIDE_MM, _HIGH_MM, _MARGIN_MM = 210.0, 297.0, 15.0
_BETWEEN_MM = 3.0
_OWN_ERRORS = "The leader's log has errors of its own, and they are allowed for. If you read it otherwise and can say why, say so."

_RESTS_ON = (
    "The key has errors of its own; they are allowed for. A cause is named where undoing it brings many readings to the key"
    " and hardly any away from it; what it does not exclude, the terminal and the JSON say with it."
)


class _Flowing:
    """A document that is filled from the top."""

    def __init__(self, what: str, *, whose: str = "") -> None:
        frame = Box(
            x=_MARGIN_MM, y=_MARGIN_MM, width=_WIDE_MM - 2 * _MARGIN_MM, height=_HIGH_MM - 2 * _MARGIN_MM
        )
        heads = tuple(page_head(whose, f"{what}{on}", width=frame.width) for on in ("", ", continued"))
        self.pages, self.at = Pages.of(frame, heads=heads), FilledTo()
        self.pages.begun(0)

    def said(self, heading: str, paragraphs: Sequence[str]) -> tuple[Block, ...]:
        """A heading with paragraphs; nothing where there are none."""
        block = text_block(heading, [plain(one) for one in paragraphs], width=self.pages.width, size_pt=HEAD)
        return () if block is None else (block,)

    def words(self, heading: str, paragraphs: Sequence[str]) -> None:
        """The same, put below what there is."""
        for block in self.said(heading, paragraphs):
            self.block(block)

    def room_over(self, blocks: Sequence[Block]) -> float:
        """Height that is left on the page with these blocks below."""
        return self.pages.room(self.at) - sum(_spaced(one).height for one in blocks) - _BETWEEN_MM

    def block(self, block: Block) -> None:
        """A block, on the next page where this one has no room for it."""
        self.at = self.pages.put(_spaced(block), self.pages.fitting(block.height, self.at))

    def table(self, table: Table) -> None:
        """A table, over as many pages as it takes."""
        if table.rows:
            self.at, _ = flow(table, self.pages, self.at, page_title=table.title)
            self.at = FilledTo(self.at.page, self.at.column, self.at.used + _BETWEEN_MM)

    def document(self, title: str, subject: str) -> Document:
        return Document(
            pages=self.pages.made(width=_WIDE_MM, height=_HIGH_MM, title=subject),
            title=title,
            subject=subject,
        )


def _spaced(block: Block) -> Block:
    return Block(items=block.items, height=block.height + _BETWEEN_MM)


def party_document(handed: Handed, lengths: Lengths) -> Document:
    """What one party gets back: what was right first, then three things to mend, then item by item."""
    with drawn_with(SHIPPED):
        made = _Flowing("held against the leader's log", whose=plain(handed.name))
        made.words(
            "What was right, once the first is mended" if handed.mended else "What was right",
            [f"{one}." for one in handed.right],
        )
        made.words("Mend first", [f"{index}. {one}" for index, one in enumerate(handed.to_mend, start=1)])
        made.table(
            Table(
                title="Marks",
                columns=(
                    Column(name="Part"),
                    Column(name="Scored", right=True),
                    Column(name="With the first causes mended", right=True),
                    Column(name="Out of", right=True),
                ),
                rows=tuple(
                    Row(
                        cells=(plain(part), scored, mended, of),
                        rule_above=part == "all",
                        bold=frozenset({0, 1}) if part == "all" else frozenset(),
                    )
                    for part, scored, mended, of in handed.parts
                ),
            )
        )
        made.table(
            Table(
                title="Item by item",
                asides=("each reading as booked; all else with what is to be mended first put right",)
                if handed.mended
                else (),
                columns=(
                    Column(name="Line", right=True),
                    Column(name="What", least_mm=34.0, most_lines=2),
                    Column(name="In your book", least_mm=24.0, most_lines=2),
                    Column(name="Judged"),
                    Column(name="Off", least_mm=30.0, most_lines=2),
                    Column(name="Expected", least_mm=30.0, most_lines=2),
                ),
                rows=tuple(
                    Row(
                        cells=(
                            row.line,
                            plain(row.what),
                            plain(row.written),
                            plain(row.judged),
                            plain(row.comment),
                            plain(row.expected),
                        )
                    )
                    for row in handed.rows
                ),
            )
        )
        last = (
            *made.said("How it was judged", [f"Marked by: {handed.scheme}.", *handed.notes, _OWN_ERRORS]),
            *made.said("Leader", ["Remarks: ", " ", "Name and date: "]),
        )
        walked = [
            walks_block(handed.walks, width=made.pages.width, lengths=lengths, most_mm=most)
            for most in (HIGH_MM, ALONE_MM)
            if handed.walks is not None
        ]
        # Where it has no room here it gets a page, and no page is left to a few words alone.
        here = [one for one in walked[:1] if made.room_over(last) >= one.height]
        for block in (*here, *last, *(() if here else walked[1:])):
            made.block(block)
        return made.document(f"{handed.name}: held against the leader's log", "For the party")


def leader_document(
    found: Sequence[Comparison], left_out: Sequence[tuple[str, str]], scheme: Scheme
) -> Document:
    """All parties on one table; those that could not be compared below, with why."""
    with drawn_with(SHIPPED):
        made = _Flowing("Parties against the key")
        made.table(
            Table(
                title="Marks",
                asides=(f"{scheme.name} ({scheme.by})",),
                columns=(
                    Column(name="Party", least_mm=30.0, most_lines=2),
                    Column(name="Marks", right=True),
                    Column(name="Mended", right=True),
                    Column(name="Out of", right=True),
                    Column(name="Paired"),
                    Column(name="Causes, each at its line", least_mm=60.0, most_lines=8, takes_rest=True),
                ),
                rows=tuple(_leader_row(one) for one in found),
            )
        )
        made.words(
            "Units that are not in the key", [_unlisted(one) for one in found if one.standing.unlisted]
        )
        made.words("Not compared", [f"{name}: {why}." for name, why in left_out])
        made.words("What this rests on", (_RESTS_ON,))
        return made.document("Parties against the key", "For the leader")


def _unlisted(one: Comparison) -> str:
    """Units of a party that nothing says to be the key's, and what to type."""
    units = [
        f"{unit.letters} {unit.name} (line {one.line_of(unit.span)}{f', it may be {unit.meant}' if unit.meant else ''})"
        for unit in one.standing.unlisted
    ]
    which = next((unit.meant for unit in one.standing.unlisted if unit.meant), None)
    also = f"`; also {which}`" if which else "`; also` and the key's letters"
    return (
        f"{one.log}: {listed(units)}; nothing named so is judged. To say which of the key's a unit is, type "
        f"{also} at the end of its line."
    )


def _leader_row(one: Comparison) -> Row:
    (scored, of), (mended, _) = total(one.marks), total(one.marks_mended)
    causes = [f"line {one.line_of(cause.span)}: {cause.cause}" for cause in one.causes]
    causes += [f"line {one.line_of(leg.span)}: leg {leg.start}–{leg.end} is another" for leg in one.apart]
    causes += [
        f"{one.lines_of(way.spans)}: the way {way.stops[0]} to {way.stops[-1]} is another" for way in one.ways
    ]
    return Row(
        cells=(
            plain(one.log),
            number(scored, places=1),
            number(mended, places=1) if one.causes else "",
            number(of),
            stations_said(one),
            plain("; ".join(causes)),
        )
    )


def spread_document(shared: Sequence[SharedOutcrop]) -> Document:
    """Outcrops that several parties measured, each with its mean, its spread and who lies out."""
    with drawn_with(SHIPPED):
        made = _Flowing("What several parties measured")
        rows = [
            Row(
                cells=(
                    plain(one.station) if not index else "",
                    one.kind if not index else "",
                    (arrow(one.dip_deg, one.dip_direction_deg) if one.n > 1 or len(one.readings) > 2 else "")
                    if not index
                    else "",
                    str(one.n) if not index else "",
                    degrees(one.spread_deg, places=1) if not index else "",
                    plain(reading.log),
                    arrow(reading.dip_deg, reading.dip_direction_deg),
                    degrees(reading.off_deg, places=1),
                    ("disagree" if len(one.readings) == 2 else "lies out") if reading.out else "",
                ),
                joined=index > 0,
                rule_above=index == 0,
            )
            for one in shared
            for index, reading in enumerate(one.readings)
        ]
        made.table(
            Table(
                title="Outcrops",
                asides=("causes that were found in a log are mended first",),
                columns=(
                    Column(name="At"),
                    Column(name="What"),
                    Column(name="Mean"),
                    Column(name="n", right=True),
                    Column(name="Spread", right=True),
                    Column(name="Party", least_mm=25.0),
                    Column(name="Read"),
                    Column(name="Off the others", right=True),
                    Column(name=""),
                ),
                rows=tuple(rows),
            )
        )
        if not rows:
            made.words("Outcrops", ["No outcrop was measured by two parties or more."])
        return made.document("What several parties measured", "For the leader")
