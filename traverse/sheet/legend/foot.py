"""The foot line of every page: grid, heights, bearings and attitudes in words, the log's mark, sheet n of m."""

from __future__ import annotations

from traverse.location.records import Survey
from traverse.log.readings import North
from traverse.log.records import Log
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Anchor, Face, Item, Text
from traverse.sheet.paper.style import LARGE, SMALL
from traverse.sheet.paper.words import cut, plain
from traverse.sheet.said.in_force import attitudes_held, bearings_held, with_changes
from traverse.sheet.said.sentences import grid_words, open_walk

_APART_MM = 4.0


def foot_line(
    log: Log, survey: Survey, *, left: float, right: float, y: float, aside: str
) -> tuple[Item, ...]:
    """Conventions at the left, as much of them as fits; `aside` at the right, and what was not adjusted before it."""
    items: list[Item] = [Text(at=(right, y), text=aside, anchor=Anchor.END, size_pt=SMALL)]
    end = right - width_mm(aside, Face.REGULAR, SMALL) - _APART_MM
    stamped = open_walk(log, survey)
    if stamped is not None:
        items.append(Text(at=(end, y), text=stamped, face=Face.BOLD, size_pt=LARGE, anchor=Anchor.END))
        end -= width_mm(stamped, Face.BOLD, LARGE) + _APART_MM
    forms = [" ".join(one) for one in _forms(log, survey)]
    fitting = (one for one in forms if width_mm(one, Face.REGULAR, SMALL) <= end - left)
    words = next(fitting, cut(forms[-1], Face.REGULAR, SMALL, end - left))
    items.append(Text(at=(left, y), text=words, size_pt=SMALL))
    return tuple(items)


def conventions(log: Log, survey: Survey) -> str:
    """Grid, heights, bearings and attitudes in words, whole."""
    return " ".join(_forms(log, survey)[0])


def _forms(log: Log, survey: Survey) -> list[list[str]]:
    """Grid, heights, bearings and attitudes in words, and shorter and shorter; none of them is ever left out."""
    frame, first = survey.frame, log.heading.first
    # Without the word before it a grid that is known by no system would be no grid.
    # On a sheet in feet the figures at the edge of the map would be taken for feet.
    metres = log.lengths.grid_aside
    grid = [f"Grid: {grid_words(frame)}{metres}."]
    if frame.epsg is not None:
        grid.append(f"{grid_words(frame)}{metres}.")
    short = f"EPSG:{frame.epsg}" if frame.epsg is not None else f"Grid: {plain(frame.name)}"
    grid.append(f"{short}{metres}.")
    heights = plain(log.heading.heights or "")
    said: list[list[str]] = [grid]
    if heights:
        said.append([f"Heights: {heights}.", f"Heights: {heights.partition(',')[0]}."])
    norths = bearings_held(log, survey)
    if len(norths) > 1:
        said.append([f"Bearings: {with_changes(norths)}.", "Bearings: they change, see notes."])
    elif first.bearings is North.MAGNETIC and frame.declination_deg is not None:
        sign = "+" if frame.declination_deg >= 0.0 else "−"
        added = f"{sign} {abs(frame.declination_deg):.1f}°."
        said.append([f"Bearings: magnetic {added}", f"Magnetic {added}"])
    elif first.bearings is not None:
        said.append([f"Bearings: {first.bearings.value}."])
    for_attitudes = [with_changes(attitudes_held(log, short=short)) for short in (False, True)]
    if for_attitudes[0]:
        said.append([f"Attitudes: {words}." for words in for_attitudes])
        if len(attitudes_held(log)) > 1:
            said[-1].append("Attitudes: they change, see notes.")
        else:
            # `Strike/dip, letter.` is told by its words alone.
            said[-1].append(f"{for_attitudes[1][:1].upper()}{for_attitudes[1][1:]}.")
    elif any(getattr(item, "readings", ()) for item in log.items):
        said.append(["Attitudes: each tells its own rule, as written.", "Attitudes: as written."])
    # The name of the grid gives way first, then words of the rest, then the grid, and last what a list of changes says.
    steps = [0] * len(said)
    forms = [[one[step] for one, step in zip(said, steps, strict=True)]]
    rest = range(len(said) - 1, 0, -1)
    for index in (0, *rest, 0, *rest):
        if steps[index] + 1 < len(said[index]):
            steps[index] += 1
            forms.append([one[step] for one, step in zip(said, steps, strict=True)])
    return forms
