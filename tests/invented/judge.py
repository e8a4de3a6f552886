"""Holds what is said of invented ground against what is true of it.

`python tests/invented/judge.py --walks 1000` walks so many times over ground of every kind and prints figures by kind;
`--kind cover` (as often as wanted) does so for one, `--seed 40` begins there, `--false` prints each false claim with the
kind and the seed that make it again, `--log cover 17` prints that walk's log and what is said of it. `--askew` gives walks
that come back a second section, askew to the beds and carried as the program chooses. `--planted 200` plants
one slip of each sort on so many walks and prints how many are named at their line.
"""

import argparse
import math
import sys
import time
from collections import Counter
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.invented.cut_true import ALLOWED_SD, CutShares, cut_shares
from tests.invented.map_true import MapShares, map_shares
from tests.invented.models import FOLDS, KINDS, dip_and_direction, gradient, make, pole
from tests.invented.slips import PLANTED, planted
from tests.invented.walker import walked
from traverse.compile import compile_log, map_ground
from traverse.diagnostic import Severity
from traverse.source import Source
from traverse.structure.form.records import AxisFound, Runs
from traverse.structure.readings.directions import upward
from traverse.structure.readings.place_errors import place_covariance

FOUND_DEG = 10.0
"""A fold is found where its axis is given within this."""
FALSE_AXIS_DEG = 25.0
"""An axis farther off than this is a false one."""
DEPTH_M = 20.0


@dataclass
class Verdict:
    """What one walk shows."""

    kind: str
    seed: int
    failed: list[str] = field(default_factory=list)
    false: list[str] = field(default_factory=list)
    fold: bool | None = None
    """Whether the fold was found; None where there is none that the walk shows."""
    axis_off_deg: float | None = None
    off: dict[str, list[float]] = field(default_factory=dict)
    """Errors in their own stated standard deviations."""
    said: set[str] = field(default_factory=set)
    """What was said by code: a note with that word before it, a finding that is possible and no more with `asked`."""
    accused: set[str] = field(default_factory=set)
    """Codes of warnings on a reading that is as good as stated."""
    cut: CutShares | None = None
    """What of the coloured ground of its sections is wrong; None where that was not asked for."""
    map: MapShares | None = None
    """Likewise of its map."""
    asked: bool = False
    """Whether a reading is asked about, which the structure may explain."""

    def add(self, what, error, sd):
        self.off.setdefault(what, []).append(abs(error) / max(sd, 1e-9))


def judged(kind, seed, *, cuts=False, askew=False):
    """One walk, compiled and judged; with `cuts` the ground of its sections is laid and held against the truth as well."""
    walk = walk_over(kind, seed, askew=askew)
    verdict = Verdict(kind, seed)
    compiled = compiled_walk(walk)
    if compiled.failed:
        verdict.failed = [one.message for one in compiled.diagnostics if one.severity is Severity.ERROR]
        return verdict
    verdict.said = {_said(one) for one in compiled.diagnostics}
    verdict.accused = {one.code for one in compiled.diagnostics if _accuses(one, walk)}
    verdict.asked = any(one.code in ASKING for one in compiled.diagnostics)
    geology = compiled.geology
    _claims(verdict, walk, geology)
    _places(verdict, walk, compiled.survey, geology)
    _thicknesses(verdict, walk, geology)
    _planes(verdict, walk, geology)
    _faults(verdict, walk, geology)
    _sections(verdict, walk, compiled.survey, geology)
    if cuts:
        drawn = map_ground(compiled.trav)
        verdict.cut = cut_shares(walk, drawn)
        verdict.map = map_shares(walk, drawn)
        _traces(verdict, walk, drawn)
    return verdict


def _said(one):
    return one.code if one.severity is Severity.WARNING else f"{one.severity.value} {one.code}"


@lru_cache(maxsize=64)
def walk_over(kind, seed, *, askew=False):
    """A walk over the model of a kind that a seed makes; tests judge one over and over."""
    return walked(make(kind, seed), askew=askew)


def compiled_walk(walk):
    """Its log through the program's own chain."""

    def load(name):
        if name in walk.files:
            return walk.files[name]
        raise FileNotFoundError(name)

    return compile_log(Source(name="invented.trav", text=walk.text), load=load)


# --- who is accused

ACCUSING = frozenset(
    {
        "all-below",
        "bed-against",
        "bed-apart",
        "beds-against-units",
        "bed-slipped",
        "beds-both-ways",
        "bed-turns-over",
        "contact-cuts-beds",
        "contact-leads-back",
        "contact-of-others",
        "contact-shifted",
        "contact-slipped",
        "cut-slipped",
        "down-along-strike",
        "limb-turns-over",
        "off-its-contact",
        "off-its-plane",
        "other-rule",
        "overturned-apart",
        "tops-along-strike",
        "unit-misfit",
        "way-up-contradicts",
        "younger-below",
    }
)
"""Warnings that doubt an attitude, a way-up or the units of a contact."""
ASKING = frozenset({"bed-at-turn"})
"""Warnings that give what was seen and a slip beside a structure that would make it right, which the readings can't tell
apart: a reading is asked about and not accused, and a slip is asked about and not named."""


OF_NO_READING = frozenset({"strike-along-section", "off-section", "closure-poor"})
"""Warnings that stand at the line of a reading and say nothing against it."""


def _accuses(one, walk):
    """Whether a warning accuses a reading that is as it should be.

    Beds that lie upside down though nobody said so are rightly asked about: each of these messages gives what the units and
    the beds as they were taken say of each other, and asks first whether the beds are overturned, which they are.
    """
    if one.code not in ACCUSING or one.severity is not Severity.WARNING:
        return False
    if one.code in {"overturned-apart", "younger-below", "all-below", "bed-turns-over", "limb-turns-over"}:
        return any(_lies_upright(walk, line) for line in _asked_lines(one))
    return True


def _lies_upright(walk, line):
    """Whether what a line reads lies upright, or is said not to."""
    contact, bed = walk.contacts.get(line), walk.beds.get(line)
    lies = bed if contact is None else contact.normal
    return lies is None or lies[2] >= 0.0 or "overturned" in walk.text.splitlines()[line - 1]


def named(kind, seed, slip):
    """Codes of the warnings that name a planted slip's line, of those that ask about it, and how many others are accused.

    None where none can be planted.
    """
    walk = walk_over(kind, seed)
    found = planted(walk, slip, np.random.default_rng([seed, PLANTED.index(slip)]))
    if found is None:
        return None
    text, line = found
    said = [
        one for one in compiled_walk(replace(walk, text=text)).diagnostics if one.code not in OF_NO_READING
    ]
    said = [one for one in said if one.severity is Severity.WARNING]
    others = {
        one.span.line
        for one in said
        if _accuses(one, walk) and line not in _asked_lines(one) | _listed_lines(one)
    }
    named_by = {one.code for one in said if line in _asked_lines(one) and one.code not in ASKING}
    asked_by = {one.code for one in said if line in _asked_lines(one) | _listed_lines(one)}
    return named_by, asked_by - named_by, len(others)


def _asked_lines(one):
    """The line of a warning, and those of the other beds that it asks about in one."""
    lines = {one.span.line} if one.span is not None else set()
    return lines | {label.span.line for label in one.labels if label.text == "nor this one"}


def _listed_lines(one):
    """Lines that a warning says may be wrong in place of its own."""
    return {span.line for span in one.doubts}


def planted_told(walks, kinds):
    """Of each sort of slip: on how many walks it was planted, named or asked about at its line, and how often others are."""
    each = max(1, walks // len(kinds))
    lines = []
    for slip in PLANTED:
        found = [
            one for kind in kinds for seed in range(each) if (one := named(kind, seed, slip)) is not None
        ]
        if found:
            here = sum(bool(named_by) for named_by, _, _ in found)
            asked = sum(bool(asked_by) and not named_by for named_by, asked_by, _ in found)
            lines.append(
                f"{slip}: {len(found)} planted, {here} named at the line, {asked} asked about, "
                f"{sum(others > 0 for _, _, others in found)} with another reading accused"
            )
    return lines


# --- what is claimed

_FORMS = {
    "syncline": {"syncline", "synform"},
    "anticline": {"anticline", "antiform"},
}


def _claims(verdict, walk, geology):
    model = walk.model
    true = {word for fold in model.folds for word in _FORMS[fold.form]}
    if model.kind == "dome":
        true = {"dome", "anticline", "antiform"}
    # Beside an axis on one line across it may stand that a dome is not excluded.
    left_open = model.kind == "dome" and any(
        isinstance(one.finding, AxisFound) and one.finding.others for one in geology.findings
    )
    if geology.fold_axis is not None and not model.folds and not left_open:
        axis = geology.fold_axis
        if not _turn_about(np.array(list(walk.beds.values())), _line(axis)):
            verdict.false.append(f"axis {axis.plunge_deg:.0f}->{axis.trend_deg:.0f}, rms {axis.rms_deg:.0f}")
    for told in geology.findings:
        one = told.finding
        name = type(one).__name__
        if level_of(told) == "possible":
            verdict.said.add(f"asked {name}")
            continue
        wrong = False
        if one.form is not None:
            wrong = one.form.kind.value not in true
            wrong |= one.form.overturned and not any(fold.overturned for fold in model.folds)
            # A dome has no axial surface; of one crossed on one line that has an axis the other form is told.
            fold = one.form.fold
            if (
                model.kind == "dome"
                and fold is not None
                and None not in (fold.axial_dip_deg, fold.sd_axial_deg)
            ):
                wrong |= not one.others
        elif name == "UnitsRepeat":
            wrong = model.fault is None or _runs_otherwise(model, one.runs)
        elif name in {"Discordance", "OpenDiscordance"}:
            wrong = model.base is None
        elif name in {"TurnedBetween", "OneOverturnedLimb", "OverturnedFold"}:
            wrong = not any(fold.overturned for fold in model.folds)
        elif name in {"Flexed", "Steepening", "Against", "ManyTurns", "UnitsMirrored", "DipTurns"}:
            wrong = not model.folds and model.kind != "dome"
        elif name == "LaidBare":
            # Of one panel it is always so.
            wrong = bool(model.folds or model.fault) and not _lies_on_one_plane(walk, one.unit, one.within)
        if wrong:
            verdict.false.append(f"{name}: {told.words}")
    _folds(verdict, walk, geology)
    _limbs_apart(verdict, walk, geology)


def _limbs_apart(verdict, walk, geology):
    """The angle between the limbs against that of the true beds read farthest apart: a walk may miss the end of a limb."""
    if len(walk.model.folds) != 1 or geology.the_fold is None or geology.the_fold.sd_deg is None:
        return
    read = np.array(list(walk.beds.values()))
    true = 180.0 - math.degrees(math.acos(max(-1.0, float((read @ read.T).min()))))
    verdict.add("interlimb", geology.the_fold.interlimb_deg - true, geology.the_fold.sd_deg)


def _runs_otherwise(model, runs):
    """Whether a fault that is said to run along the strike of the beds runs nearer to square across it, or the reverse."""
    level = [gradient(field, (0.0, 0.0, 100.0))[:2] for field in (model.fault, model.pile.height)]
    fault, bed = (one / np.linalg.norm(one) for one in level)
    along = abs(float(fault @ bed)) > math.cos(math.radians(45.0))
    return runs is (Runs.ACROSS if along else Runs.ALONG)


def _traces(verdict, walk, drawn):
    """No fold has two axial traces on a map, and none stands where there is no fold."""
    traces = len(drawn.ground.map.folds)
    if walk.model.kind != "dome" and traces > len(walk.model.folds):
        verdict.false.append(f"{traces} axial traces on the map, of {len(walk.model.folds)} folds")


def _lies_on_one_plane(walk, unit, within):
    """Whether somewhere on the walk one surface of two units comes out twice running, its beds alike at both."""
    met = [walk.contacts[line] for line in sorted(walk.contacts)]
    return any(
        {one.younger, one.older} == {other.younger, other.older} == {unit, within}
        and abs(float(one.normal @ other.normal)) > math.cos(math.radians(FOUND_DEG))
        for one, other in pairwise(met)
    )


LOCAL_DEG = 5.0
"""Beds of a dome that truly keep within this to one girdle have its axis, where they were read."""


def _turn_about(beds, line):
    """Whether true poles turn about a line to within what it is told to: as those on one flank of a cone do."""
    _, spread, axes = np.linalg.svd(beds)
    rms_deg = math.degrees(math.asin(min(1.0, spread[2] / math.sqrt(len(beds)))))
    turning = math.degrees(math.asin(min(1.0, spread[1] / math.sqrt(len(beds)))))
    off_deg = math.degrees(math.acos(min(1.0, abs(float(axes[2] @ line)))))
    return rms_deg <= LOCAL_DEG and turning >= 2.0 * LOCAL_DEG and off_deg <= FOUND_DEG


def _line(axis):
    trend, plunge = math.radians(axis.trend_deg), math.radians(axis.plunge_deg)
    return np.array(
        [math.sin(trend) * math.cos(plunge), math.cos(trend) * math.cos(plunge), -math.sin(plunge)]
    )


def level_of(told):
    """`observed`, `follows` or `possible`."""
    level = getattr(told, "level", None) or getattr(told.finding, "level", None)
    return str(getattr(level, "value", "follows"))


def _folds(verdict, walk, geology):
    """A fold of which each limb was read twice or more, five times in all, should be found."""
    model = walk.model
    if not model.folds or model.folds[0].interlimb_deg >= 120.0:
        return
    read = np.array(list(walk.beds.values()))
    if len(read) < 5:
        return
    fold = model.folds[0]
    side = np.cross(fold.axis, (0.0, 0.0, 1.0))
    limb = read @ side
    if min((limb > 0.2).sum(), (limb < -0.2).sum()) < 2:
        return
    axis = geology.fold_axis
    if axis is None:
        verdict.fold = False
        return
    verdict.axis_off_deg = math.degrees(math.acos(min(1.0, abs(float(_line(axis) @ fold.axis)))))
    verdict.fold = verdict.axis_off_deg <= FOUND_DEG
    if verdict.axis_off_deg > FALSE_AXIS_DEG:
        verdict.false.append(
            f"axis {axis.plunge_deg:.0f}->{axis.trend_deg:.0f}, {verdict.axis_off_deg:.0f} off"
        )


# --- how far figures are off


def _places(verdict, walk, survey, geology):
    for name, place in survey.places.items():
        if name in walk.stations and place.sd_east_m:
            verdict.add("stations", place.east_m - walk.stations[name][0], place.sd_east_m)
            verdict.add("stations", place.north_m - walk.stations[name][1], place.sd_north_m)
    for contact in geology.contacts:
        true = walk.contacts.get(contact.booked.span.line)
        if true is None or contact.place.leg_azimuth_deg is None:
            continue
        way = math.radians(contact.place.leg_azimuth_deg)
        ahead = np.array([math.sin(way), math.cos(way), 0.0])
        here = np.array([contact.place.east_m, contact.place.north_m, contact.place.relative_up_m])
        sd = math.sqrt(max(0.0, float(ahead @ place_covariance(contact) @ ahead)))
        verdict.add(f"contact places, {true.certainty}", float((here - true.place) @ ahead), sd)


def _thicknesses(verdict, walk, geology):
    for one in geology.thicknesses:
        true = walk.model.thickness(one.unit)
        ends = [walk.contacts.get(span.line) for span in one.between]
        if true is None or one.at_least or None in ends or _over_a_fault(walk, *ends):
            continue
        low, high = one.range_m
        outside = max(low - true, true - high, 0.0)
        if high - low < one.sd_m:
            verdict.add("thickness", one.true_m - true, one.sd_m)
        else:
            verdict.add("thickness, range", outside, one.sd_m)


def _over_a_fault(walk, first, second):
    """Whether a fault runs between two places; inside one unit a party can't book it."""
    if walk.model.fault is None:
        return False
    sides = walk.model.fault(np.array([first.place, second.place]) - walk.origin)
    return bool(sides[0] * sides[1] < 0.0)


def _planes(verdict, walk, geology):
    """Planes of contacts that are planes."""
    if walk.model.kind in {*FOLDS, "dome"}:
        return
    for plane in geology.planes:
        met = [walk.contacts[span.line] for span in plane.lines if span.line in walk.contacts]
        if plane.strike_deg is None or not met or {one.kind for one in met} & {"fault", "dike"}:
            continue
        # Over a fault, or where one pair is two surfaces, there is no one plane.
        off = np.ptp([one.place @ met[0].normal for one in met])
        if off > 1.0:
            continue
        dip, direction = dip_and_direction(met[0].normal)
        if dip <= 5.0:
            # A level plane's dip can only be too large; its pole is off to either side.
            lies = pole(plane.dip_deg, plane.strike_deg + 90.0) - upward(met[0].normal)
            for wrong in lies[:2]:
                verdict.add("level plane's pole", math.degrees(wrong), plane.sd_pole_deg)
            continue
        verdict.add("plane dip", plane.dip_deg - dip, plane.sd_dip_deg)
        if plane.sd_strike_deg is not None:
            wrong = (plane.strike_deg + 90.0 - direction + 90.0) % 180.0 - 90.0
            verdict.add("plane strike", wrong, plane.sd_strike_deg)


def _faults(verdict, walk, geology):
    """How far beds are apart down the dip of a fault: along it they moved nowhere else, so that it is the slip."""
    if walk.model.fault is None:
        return
    for told in geology.findings:
        found = getattr(told.finding, "separation", None)
        if found is None:
            continue
        over = gradient(walk.model.fault, (0.0, 0.0, 100.0))
        over = over if over[2] > 0.0 else -over
        sunk = -float(walk.model.throw[2]) * (
            1.0 if walk.model.fault((over * 1000.0)[None, :])[0] > 0.0 else -1.0
        )
        true = math.copysign(float(np.linalg.norm(walk.model.throw)), sunk)
        verdict.add("fault separation", found.dip_m - abs(true), found.sd_m)
        verdict.add("fault separation, vertical", found.vertical_m - abs(sunk), found.vertical_sd_m)
        way = math.radians(found.up_deg or 0.0)
        up = math.copysign(1.0, float(over[:2] @ (math.sin(way), math.cos(way))))
        wrong = found.normal is not None and found.normal != (true > 0.0)
        if wrong or (found.up_deg is not None and (up > 0.0) != (true < 0.0)):
            verdict.false.append(f"FaultSeen: {told.words}")


def _sections(verdict, walk, survey, geology):
    """Contacts 20 m below where they come to the section, against the true surface, within what is stated there."""
    model = walk.model
    for section in geology.sections:
        if len(section.line) != 2 or not section.profile:
            continue
        start = np.array(section.line[0])
        way = (np.array(section.line[1]) - start) / section.length_m
        for line in section.construction.lines:
            met = [
                walk.contacts[one.booked.span.line]
                for one in line.contacts
                if one.booked.span.line in walk.contacts
            ]
            if len(met) != len(line.contacts) or not met or met[0].kind != "contact" or line.error is None:
                continue
            if len(line.outcrops) > 1:
                continue
            points = np.array([point for piece in line.pieces for point in piece.points])
            came = line.outcrops[0] if line.outcrops else line.error.at
            deep = came[1] - DEPTH_M
            if not len(points) or points[:, 1].min() > deep:
                continue
            below = _at_depth(points, deep, came[0])
            if below is None:
                continue
            place = np.array([*(start + below * way), deep]) - walk.origin
            value = (
                model.pile.height if model.cover is None or met[0].younger[0] != "U" else model.cover.height
            )
            level = float(value((met[0].place - walk.origin)[None, :])[0])
            error = float(value(place[None, :])[0]) - level
            verdict.add("section at 20 m", error, line.sd_at((below, deep)))


def _at_depth(points, deep, near):
    """Distance along the section at which a line passes a height, the one nearest to its outcrop."""
    found = []
    for (x0, z0), (x1, z1) in pairwise(points):
        if (z0 - deep) * (z1 - deep) <= 0.0 and z0 != z1:
            found.append(x0 + (deep - z0) / (z1 - z0) * (x1 - x0))
    return min(found, key=lambda one: abs(one - near)) if found else None


# --- figures


def shares(values):
    """How many there are, and per cent of them within one and within three standard deviations."""
    values = np.asarray(values)
    return len(values), 100.0 * float((values <= 1.0).mean()), 100.0 * float((values <= 3.0).mean())


def told(verdicts):
    """Figures by kind as lines."""
    lines = []
    kinds = [kind for kind in KINDS if any(one.kind == kind for one in verdicts)]
    for kind in [*kinds, "all"]:
        mine = [one for one in verdicts if kind in {one.kind, "all"}]
        claims = Counter(claim.split(":")[0].split(" ")[0] for one in mine for claim in one.false)
        with_false = sum(bool(one.false) for one in mine)
        line = f"{kind}: {len(mine)} walks, {with_false} with a false claim"
        line += f" ({', '.join(f'{name} {n}' for name, n in claims.most_common())})" if claims else ""
        if failed := sum(bool(one.failed) for one in mine):
            line += f", {failed} not compiled"
        folds = [one.fold for one in mine if one.fold is not None]
        if folds:
            line += f"; folds found {sum(folds)} of {len(folds)}"
        lines.append(line)
        off = {}
        for one in mine:
            for what, values in one.off.items():
                off.setdefault(what, []).extend(values)
        for what, values in sorted(off.items()):
            count, one_sd, three_sd = shares(values)
            lines.append(f"    {what}: {count}, within 1 sd {one_sd:.0f} %, within 3 sd {three_sd:.1f} %")
        lines += _cuts_told([one.cut for one in mine if one.cut is not None])
        lines += _maps_told([one.map for one in mine if one.map is not None])
        accused = Counter(code for one in mine for code in one.accused)
        if accused:
            lines.append(
                "    walks with a good reading accused: "
                + ", ".join(f"{code} {n} ({100 * n / len(mine):.1f} %)" for code, n in accused.most_common())
            )
        if asked := sum(one.asked for one in mine):
            lines.append(f"    walks with a reading asked about: {asked} ({100 * asked / len(mine):.1f} %)")
        if said := Counter(code for one in mine for code in sorted(one.said)):
            every = ", ".join(f"{code} {n} ({100 * n / len(mine):.1f} %)" for code, n in said.most_common())
            lines.append(f"    said on walks: {every}")
    return lines


def _cuts_told(cuts):
    cells, shared = sum(one.cells for one in cuts), sum(one.shared for one in cuts)
    if not cells:
        return []
    wrong, beyond, wedges = (
        100.0 * sum(getattr(one, what) for one in cuts) / cells for what in ("wrong", "beyond", "wedges")
    )
    against = sum(one.contradicted for one in cuts)
    line = f"    coloured in sections: {wrong:.1f} % another unit, {beyond:.2f} % of all beyond {ALLOWED_SD:.0f} sd of "
    line += f"every line, {wedges:.2f} % wedges; "
    return [line + f"{against} m of {shared} contradict the map"]


def _maps_told(maps):
    cells, drawn_m = sum(one.cells for one in maps), sum(one.drawn_m for one in maps)
    if not cells or not drawn_m:
        return []
    wrong, wedges = (100.0 * sum(getattr(one, what) for one in maps) / cells for what in ("wrong", "wedges"))
    inside = 100.0 * sum(one.inside_m for one in maps) / drawn_m
    line = f"    coloured on maps: {wrong:.1f} % another unit, {wedges:.2f} % wedges; "
    return [line + f"{inside:.1f} % of the length of contacts inside one unit"]


def main():
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--walks", type=int, default=110, help="how many in all, spread over the kinds")
    parser.add_argument("--kind", action="append", choices=KINDS)
    parser.add_argument("--seed", type=int, default=0, help="the first seed of each kind")
    parser.add_argument("--false", action="store_true", help="print each false claim")
    parser.add_argument("--log", nargs=2, metavar=("KIND", "SEED"), help="one walk: its log and what is said")
    parser.add_argument(
        "--askew", action="store_true", help="a second section askew to the beds where walks come back"
    )
    parser.add_argument("--planted", type=int, help="plant slips on so many walks and judge nothing else")
    args = parser.parse_args()
    if args.planted:
        print("\n".join(planted_told(args.planted, args.kind or KINDS)))
        return
    if args.log:
        walk = walk_over(args.log[0], int(args.log[1]), askew=args.askew)
        print(walk.text)
        compiled = compiled_walk(walk)
        for one in compiled.diagnostics:
            print(one.severity.value, one.message)
        if compiled.geology is not None:
            for one in compiled.geology.findings:
                print(level_of(one), type(one.finding).__name__, one.words)
        print(judged(args.log[0], int(args.log[1]), askew=args.askew))
        return
    kinds = args.kind or KINDS
    began = time.perf_counter()
    seeds = range(args.seed, args.seed - (-args.walks // len(kinds)))
    verdicts = [judged(kind, seed, cuts=True, askew=args.askew) for seed in seeds for kind in kinds]
    if args.false:
        for one in verdicts:
            for claim in (*one.failed, *one.false):
                print(f"{one.kind} {one.seed}: {claim}")
    print("\n".join(told(verdicts)))
    print(f"{len(verdicts)} walks in {time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
