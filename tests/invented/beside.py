"""The true map and section of an invented country beside those of the program, for the eye.

`python tests/invented/beside.py cover 3 -o cover.png` draws four panels: the ground as it is and as the log shows it, and
under the line of section the same. One colour is one unit in all of them; what was not looked at stays white.
"""

import argparse
import sys
from pathlib import Path

import matplotlib as mpl
import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

mpl.use("Agg")

from matplotlib.colors import ListedColormap
from matplotlib.figure import Figure

from tests.invented.judge import compiled_walk, level_of
from tests.invented.models import KINDS, make
from tests.invented.walker import walked
from traverse.compile import map_ground

STEP_M = 2.0
ROOM_M = 60.0
DEEP_M = 80.0


def drawn(kind, seed):
    """The figure of one walk."""
    walk = walked(make(kind, seed))
    compiled = compiled_walk(walk)
    trav = map_ground(compiled.trav)
    order = walk.model.order
    colours = mpl.colormaps["tab20"](np.linspace(0.0, 1.0, max(2, len(order))))
    look = {"cmap": ListedColormap(colours), "vmin": -0.5, "vmax": len(order) - 0.5, "aspect": "equal"}
    look |= {"origin": "lower", "interpolation": "nearest"}
    figure = Figure(figsize=(15, 11), layout="constrained")
    panels = figure.subplots(2, 2, height_ratios=(2.2, 1.0), sharex="row", sharey="row")
    _maps(panels[0], walk, trav, look)
    if trav.geology.sections:
        _sections(panels[1], walk, trav, look)
    for at, letters in enumerate(order):
        panels[0][0].plot([], [], "s", color=colours[at], label=letters)
    panels[0][0].legend(loc="upper left", fontsize=8, ncols=2)
    said = [f"{level_of(one)}: {one.words}" for one in trav.geology.findings]
    figure.suptitle(
        f"{kind} {seed}\n" + "\n".join(line[:170] for line in said), fontsize=8, ha="left", x=0.02
    )
    return figure


def _maps(panels, walk, trav, look):
    model, order = walk.model, walk.model.order
    low, high = walk.path[:, :2].min(axis=0) - ROOM_M, walk.path[:, :2].max(axis=0) + ROOM_M
    east, north = np.arange(low[0], high[0], STEP_M), np.arange(low[1], high[1], STEP_M)
    x, y = np.meshgrid(east - walk.origin[0], north - walk.origin[1])
    codes = model.codes(model.ground(x.ravel(), y.ravel()))
    true = model.in_order(codes).reshape(x.shape)
    extent = (east[0], east[-1], north[0], north[-1])
    panels[0].imshow(true, extent=extent, **look)
    panels[0].plot(*walk.path[:, :2].T, "k.-", lw=0.8)
    panels[0].set_title("as it is", fontsize=9)
    panels[1].set_title("as it is drawn", fontsize=9)
    for area in trav.ground.map.band.areas:
        if area.unit is None:
            continue
        for part in area.parts:
            panels[1].fill(*part.exterior.xy, color=look["cmap"](order.index(area.unit)))
            for hole in part.interiors:
                panels[1].fill(*hole.xy, color="white")
    for crossed in trav.ground.map.band.crossed:
        panels[1].plot(*crossed.line.xy, "k-", lw=1.0)
    for piece in trav.ground.map.band.beside:
        panels[1].plot(*piece.line.xy, "r-", lw=1.0)
    for join in trav.ground.joins:
        for line in join.lines:
            panels[1].plot(*np.array(line).T, "b--", lw=1.0)
    for fold in trav.ground.map.folds:
        for line in fold.lines:
            panels[1].plot(*np.array(line).T, "m-", lw=2.0)
    for bed in trav.geology.beds:
        panels[1].text(
            bed.place.east_m, bed.place.north_m, f"{bed.dip_direction_deg:.0f}/{bed.dip_deg:.0f}", size=5
        )
    places = np.array([(one.east_m, one.north_m) for one in trav.survey.places.values()])
    panels[1].plot(*places.T, "k.", ms=3)
    for section in trav.geology.sections:
        for panel in panels:
            panel.plot(*np.array(section.line).T, "g:", lw=1.2)


def _sections(panels, walk, trav, look):
    section, cut = trav.geology.sections[0], trav.ground.cuts[0]
    model, order = walk.model, walk.model.order
    profile = np.array([(one.distance_m, one.up_m) for one in section.profile])
    along = np.arange(0.0, section.length_m, STEP_M)
    up = np.arange(profile[:, 1].min() - DEEP_M, profile[:, 1].max() + 20.0, STEP_M)
    start, end = np.array(section.line[0]), np.array(section.line[-1])
    plan = start + along[:, None] / section.length_m * (end - start) - walk.origin[:2]
    top = model.up(plan[:, 0], plan[:, 1])
    d, z = np.meshgrid(np.arange(len(along)), up)
    places = np.column_stack((plan[d.ravel()], z.ravel()))
    true = model.in_order(model.codes(places)).astype(float).reshape(d.shape)
    true[z > top[d]] = np.nan
    panels[0].imshow(true, extent=(0.0, section.length_m, up[0], up[-1]), **look)
    for fill in cut.fills:
        panels[1].fill(*fill.area.exterior.xy, color=look["cmap"](order.index(fill.unit)))
    for line in cut.lines:
        for piece in line.below:
            panels[1].plot(*piece.xy, "k-", lw=1.0)
    panels[1].plot(*profile.T, "k-", lw=1.5)
    panels[0].set_aspect("equal")
    panels[1].set_aspect("equal")
    panels[0].set_ylim(up[0], up[-1])


def main():
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kind", choices=KINDS)
    parser.add_argument("seed", type=int)
    parser.add_argument("-o", "--output", type=Path, default=Path("beside.png"))
    args = parser.parse_args()
    drawn(args.kind, args.seed).savefig(args.output, dpi=90)


if __name__ == "__main__":
    main()
