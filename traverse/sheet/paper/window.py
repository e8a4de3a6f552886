"""Map scales, ground to paper, and the strip under the map: ratio, scale bars and check line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import count

from traverse.length import FEET, METRES
from traverse.record import record
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.look import look_in_force
from traverse.sheet.paper.page import Anchor, Box, Face, Item, Path, Point, Text, polyline, rectangle
from traverse.sheet.paper.style import BLACK, PENS, SCALE_RATIO, SMALL, WHITE
from traverse.sheet.paper.words import number

NOTE_MM = 2.4
"""Height of the line under the neat line that says what is not on the map."""
STRIP_MM = 10.1
"""Height of the strip under that line."""
_SMALL = (100, 200, 250, 300, 400, 500, 750)
_ROUND = (1000, 1500, 2000, 2500, 3000, 4000, 5000, 6000, 7500)
"""These, ten times these, a hundred times these: no step makes a map much smaller than it must be."""
_FEET = (
    120,
    240,
    360,
    480,
    600,
    720,
    *(100 * one for one in (12, 18, 24, 36, 48, 60, 72, 120, 180, 240, 360, 480)),
)
"""1 inch to 10, 20, 30, 40, 50, 60, 100, 150, 200, 300, 400, 500 and 600 feet, then to 1000, 1500, 2000, 3000 and 4000."""
_CHECK_MM = 100.0
_LEAST_BAR_MM = 28.0
_LEAST_CHECK_MM = 30.0
_PACES_GAP_MM = 9.0
_RULES_MM = ((40.0, _PACES_GAP_MM, _LEAST_BAR_MM), (26.0, 6.0, _LEAST_BAR_MM), (20.0, 5.0, 20.0))
"""Longest rule of paces, the gap after it, and the least bar beside it: shorter ones rather than fewer, for each of a
party counts paces of their own."""
_TICK_MM = 1.1
"""Half of the ticks at the ends of the check line."""
_WORDS_OVER_MM = 1.6
_FIGURES_MM = 0.3
"""Between figures of a bar, at least."""
_CHECK_WORDS = "check line: 100 mm on paper; if it is not, the ratio is false and only the bars are true"


def as_drawn(scale: float) -> int:
    """The scale that is drawn for one on paper, where the page is enlarged afterwards."""
    return round(scale * look_in_force().grown)


def on_paper(scale: float) -> int:
    """The scale on paper of one that is drawn."""
    return round(scale / look_in_force().grown)


def round_scales(*, feet: bool) -> Iterator[int]:
    """Scales to draw at that are round on paper, from the largest down, without end.

    >>> from itertools import islice
    >>> list(islice(round_scales(feet=False), 22))
    [100, 200, 250, 300, 400, 500, 750, 1000, 1500, 2000, 2500, 3000, 4000, 5000, 6000, 7500, 10000, 15000, 20000, 25000, 30000, 40000]
    """
    first = _FEET if feet else _SMALL
    yield from map(as_drawn, first)
    for power in count():
        for scale in (one * 10**power for one in _ROUND):
            if scale > first[-1]:
                yield as_drawn(scale)


@record(frozen=True, slots=True, kw_only=True)
class Window:
    """The ground that a map panel shows, and how it lies on the page."""

    box: Box
    scale: int
    east_m: float
    """At the left edge."""
    north_m: float
    """At the lower edge."""
    convergence_deg: float
    """True azimuth minus grid azimuth; the page is grid north up."""

    def at(self, east_m: float, north_m: float) -> Point:
        """Place on the page."""
        return (self.box.x + self.mm(east_m - self.east_m), self.box.y + self.mm(north_m - self.north_m))

    def shows(self, at: Point) -> bool:
        """Whether a place on the page lies in the panel."""
        return self.box.x <= at[0] <= self.box.right and self.box.y <= at[1] <= self.box.top

    def mm(self, ground_m: float) -> float:
        """Length on paper of a length on the ground."""
        return ground_m * 1000.0 / self.scale

    def turn_deg(self, azimuth_true_deg: float) -> float:
        """Angle on the page, clockwise from page-up, of a true azimuth."""
        return azimuth_true_deg - self.convergence_deg


def convergence_of(convergence_deg: float | None) -> float:
    """Convergence to draw with: a local grid's north is true north."""
    return convergence_deg if convergence_deg is not None else 0.0


@record(frozen=True, slots=True, kw_only=True)
class Bar:
    """A scale bar: so many parts of so much each."""

    parts: int
    each: int
    length_mm: float


def bar(scale: int, *, unit_m: float, most_mm: float) -> Bar:
    """The bar of 2 to 5 round parts that comes nearest to 60 mm without passing `most_mm`.

    >>> bar(2500, unit_m=1.0, most_mm=64.0)
    Bar(parts=3, each=50, length_mm=60.0)
    >>> (found := bar(2500, unit_m=0.3048, most_mm=64.0)).parts, found.each
    (5, 100)
    """
    wanted = min(60.0, most_mm)
    best: tuple[float, Bar] | None = None
    low = max(0, math.floor(math.log10(wanted * scale / 1000.0 / unit_m) + 1e-9) - 1)
    for power in (low, low + 1):
        for digit in (1, 2, 5):
            each = digit * 10**power
            for parts in (5, 4, 3, 2):
                length = parts * each * unit_m * 1000.0 / scale
                off = abs(length - wanted) + (0.0 if length <= most_mm else 1000.0)
                if best is None or off < best[0] - 1e-9:
                    best = off, Bar(parts=parts, each=each, length_mm=length)
    assert best is not None
    return best[1]


@record(frozen=True, slots=True, kw_only=True)
class PaceRule:
    """What a rule of paces is drawn from."""

    words: str
    """Whose they are: `AR’s double paces`."""
    length_m: float
    """Of one pace."""


def scale_strip(
    scale: int, *, x: float, top: float, width: float, paces: Sequence[PaceRule] = ()
) -> tuple[Item, ...]:
    """Ratio, bars in metres and feet and the check line, from `top` downwards, in `STRIP_MM`.

    On narrow paper the check line is shorter, and says how long it is. Rules of `paces` stand beside the bars, as
    many of them from the first on as there is room for.
    """
    ratio = f"1:{number(on_paper(scale))}"
    items: list[Item] = [Text(at=(x, top - 6.2), text=ratio, face=Face.BOLD, size_pt=SCALE_RATIO)]
    left = x + width_mm(ratio, Face.BOLD, SCALE_RATIO) + 7.0
    free = width - (left - x) - 10.0
    wide: list[float] = []
    for most_paces, gap, least_bar in _RULES_MM:
        wide = [max(most_paces, width_mm(one.words, Face.REGULAR, SMALL)) + gap for one in paces]
        if free - sum(wide) - _LEAST_CHECK_MM >= least_bar:
            break
    while wide and free - sum(wide) - _LEAST_CHECK_MM < least_bar:
        wide.pop()
    least_bar = least_bar if wide else _LEAST_BAR_MM
    ruled = sum(wide)
    grown = look_in_force().grown
    checks = (_CHECK_MM, 50.0, _LEAST_CHECK_MM)
    check = next((one for one in checks if free - ruled - one / grown >= least_bar), 0.0)
    most = max(free - ruled - check / grown, 10.0)
    metre = bar(scale, unit_m=METRES.metres_each, most_mm=most)
    foot = bar(scale, unit_m=FEET.metres_each, most_mm=most)
    items += _bar_items(metre, x=left, y=top - 4.6, name=METRES.sign, above=True)
    items += _bar_items(foot, x=left, y=top - 7.6, name=FEET.sign, above=False)
    start = left + max(metre.length_mm, foot.length_mm) + _PACES_GAP_MM
    for pace, room in zip(paces, wide, strict=False):
        items += _pace_items(pace, scale, x=start, y=top - 4.6, most_mm=most_paces)
        start += room
    right = x + width
    if not check:
        return tuple(items)
    items += check_line(right=right, y=top - 6.8, check=check)
    return tuple(items)


def check_line(*, right: float, y: float, check: float = _CHECK_MM) -> list[Item]:
    """A line of a length that is told over it, ticked every 10 mm, up to `right`: it shows what the printer has scaled."""
    grown = look_in_force().grown
    start = right - check / grown
    items: list[Item] = [Path(commands=polyline([(start, y), (right, y)]), pen=PENS["tick"])]
    ticks = round(check / 10.0)
    for index in range(ticks + 1):
        height = _TICK_MM if index in {0, ticks} else 0.6
        at = start + 10.0 / grown * index
        items.append(Path(commands=polyline([(at, y - height), (at, y + height)]), pen=PENS["tick"]))
    words = _CHECK_WORDS if check == _CHECK_MM else f"check line: {check:.0f}\u00a0mm on paper"
    wide = width_mm(words, Face.REGULAR, SMALL) > right - start
    items.append(
        Text(
            at=(right if wide else (start + right) / 2, y + _WORDS_OVER_MM),
            text=words,
            anchor=Anchor.END if wide else Anchor.MIDDLE,
            size_pt=SMALL,
        )
    )
    return items


def check_line_in(items: Iterable[Text | Path]) -> tuple[Item, ...]:
    """The check line among what stands on a page, with its words; empty without one."""
    items = tuple(items)
    words = next((one for one in items if isinstance(one, Text) and one.text.startswith("check line")), None)
    if words is None:
        return ()
    x, y = words.at[0], words.at[1] - _WORDS_OVER_MM
    level = [
        (min(xs), max(xs), one)
        for one in items
        if isinstance(one, Path) and one.fill is None
        if (points := [(command[-2], command[-1]) for command in one.commands if len(command) > 2])
        if all(abs(up - y) <= _TICK_MM + 1e-6 for _, up in points)
        if (xs := [across for across, _ in points])
    ]
    long = next(((left, right) for left, right, _ in level if left < x <= right + 1e-6), (x, x))
    ticks = (one for left, right, one in level if long[0] - 1e-6 <= left <= right <= long[1] + 1e-6)
    return (*ticks, words)


def _pace_items(pace: PaceRule, scale: int, *, x: float, y: float, most_mm: float) -> list[Item]:
    """A rule of paces with its figures above, and below it whose they are."""
    rule = bar(scale, unit_m=pace.length_m, most_mm=most_mm)
    words = Text(at=(x, y - 3.0), text=pace.words, size_pt=SMALL)
    return [*_bar_items(rule, x=x, y=y, name="", above=True), words]


def _bar_items(bar: Bar, *, x: float, y: float, name: str, above: bool) -> list[Item]:
    """A bar of alternately filled parts; figures above it or below."""
    height = 1.1
    part = bar.length_mm / bar.parts
    items: list[Item] = []
    for index in range(bar.parts):
        box = Box(x=x + index * part, y=y, width=part, height=height)
        items.append(Path(commands=rectangle(box), pen=PENS["tick"], fill=BLACK if index % 2 == 0 else WHITE))
    base = y + 1.9 if above else y - 2.3
    # Where figures would stand on each other, those of the ends alone.
    close = width_mm(number(bar.parts * bar.each), Face.REGULAR, SMALL) + _FIGURES_MM > part
    step = bar.parts if close else 1
    items.extend(
        Text(at=(x + index * part, base), text=number(index * bar.each), anchor=Anchor.MIDDLE, size_pt=SMALL)
        for index in range(0, bar.parts + 1, step)
    )
    if name:
        items.append(Text(at=(x - 1.6, y - 0.4), text=name, anchor=Anchor.END, size_pt=SMALL))
    return items
