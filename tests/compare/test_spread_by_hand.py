"""The page of spread worked out again from the raw readings of the logs, without the program's own arithmetic.

Pole of a plane and its mean by the largest eigenvector of the orientation tensor: Woodcock, N. H. (1977), "Specification of
fabric shapes using an eigenvalue method", Geological Society of America Bulletin 88, 1231-1236; the eigenvectors are
`scipy.linalg.eigh`'s. That readings of one plane lie within 8 degrees of each other is common practice, no source.
"""

import re
from dataclasses import replace
from math import cos, radians, sin, sqrt
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from scipy.linalg import eigh

from tests.called import traverse
from tests.compare.camp import held
from traverse.compare.spread import shared_outcrops

GROUND = (Path(__file__).parent / "hollin-valley.trav").read_text("utf-8")
DECLINATION_DEG, ONE_PLANE_DEG = 6.0, 8.0


def read_by(seed, *, turned_at=None):
    """The same walk with beds read to 2 degrees and dips to 1.5, two at each outcrop; one strike 25 degrees aside."""
    chance = np.random.default_rng(seed)
    station = None
    rows = []
    for row in GROUND.splitlines():
        found = re.match(r"(?:at|to) (\S+)", row)
        station = found[1] if found else station
        if re.match(r"\s+bed ", row):
            off = 25.0 if station == turned_at else 0.0
            pair = [
                f"{round(14 + off + chance.normal(0, 2)) % 360:03d}/{round(28 + chance.normal(0, 1.5))}"
                for _ in range(2)
            ]
            row = f"  bed   {', '.join(pair)}"  # noqa: PLW2901 - the row as this party wrote it
        rows.append(row)
    return "\n".join(rows) + "\n"


PARTIES = {
    "ask.trav": read_by(1),
    "bly.trav": read_by(2),
    "cox.trav": read_by(3),
    "dun.trav": read_by(4, turned_at="8"),
}


def raw(text):
    """Strike and dip as they stand in the log, by station."""
    found, station = {}, None
    for row in text.splitlines():
        at = re.match(r"(?:at|to) (\S+)", row)
        station = at[1] if at else station
        if re.match(r"\s+bed ", row):
            found[station] = [(float(s), float(d)) for s, d in re.findall(r"(\d{3})/(\d+)", row)]
    return found


def pole(strike, dip):
    """Upward, east north up: the plane dips to the right of its strike, which is magnetic."""
    toward = radians(strike + DECLINATION_DEG + 90.0)
    return np.array([sin(radians(dip)) * sin(toward), sin(radians(dip)) * cos(toward), cos(radians(dip))])


def mean(poles):
    rows = np.array(poles)
    axis = eigh(rows.T @ rows)[1][:, -1]
    return axis if axis[2] > 0 else -axis


def apart(one, other):
    return float(np.degrees(np.arccos(min(1.0, abs(float(one @ other))))))


def by_hand(station):
    """Mean plane, spread and how far each lies off the others' mean; and who lies out, the farthest taken away first."""
    parties = {name: mean([pole(*one) for one in raw(text)[station]]) for name, text in PARTIES.items()}
    kept = dict(parties)
    while len(kept) > 2:
        off = {
            name: apart(one, mean([two for other, two in kept.items() if other != name]))
            for name, one in kept.items()
        }
        worst = max(off, key=off.get)
        if off[worst] <= ONE_PLANE_DEG:
            break
        del kept[worst]
    axis = mean(list(kept.values()))
    spread = sqrt(sum(apart(one, axis) ** 2 for one in kept.values()) / len(kept))
    dip = float(np.degrees(np.arccos(axis[2])))
    toward = float(np.degrees(np.arctan2(axis[0], axis[1]))) % 360.0
    off = {
        name: apart(one, mean([two for other, two in kept.items() if other != name]))
        for name, one in parties.items()
    }
    return dip, toward, spread, off, set(parties) - set(kept)


@pytest.fixture(scope="module")
def outcrops():
    found = [held(text, GROUND) for text in PARTIES.values()]
    return shared_outcrops([_called(one, name) for one, name in zip(found, PARTIES, strict=True)])


def _called(comparison, name):
    return replace(comparison, log=name)


def test_every_outcrop_is_there_with_its_mean_its_spread_and_who_lies_out(outcrops):
    assert [one.station for one in outcrops] == list(raw(GROUND))
    for one in outcrops:
        dip, toward, spread, off, out = by_hand(one.station)
        assert one.dip_deg == pytest.approx(dip, abs=1e-4)
        assert one.dip_direction_deg == pytest.approx(toward, abs=1e-4)
        assert one.spread_deg == pytest.approx(spread, abs=1e-4)
        assert one.n == len(PARTIES) - len(out)
        assert {reading.log for reading in one.readings if reading.out} == out
        for reading in one.readings:
            assert reading.off_deg == pytest.approx(off[reading.log], abs=1e-4)
    assert by_hand("8")[4] == {"dun.trav"}


def test_the_page_prints_these_figures(tmp_path):
    for name, text in PARTIES.items():
        (tmp_path / name).write_text(text, "utf-8")
    (tmp_path / "key.trav").write_text(GROUND, "utf-8")
    done = traverse("compare", "key.trav", *PARTIES, "-o", "back", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    pages = PdfReader(tmp_path / "back" / "leader" / "spread.pdf").pages
    said = " ".join(" ".join(page.extract_text() for page in pages).split())
    for station in raw(GROUND):
        dip, toward, spread, _, out = by_hand(station)
        row = f"{station} bed {dip:.0f}° → {toward:03.0f}° {len(PARTIES) - len(out)} {spread:.1f}°"
        assert row in said, row
    assert said.count("lies out") == 1
    assert f"{by_hand('8')[3]['dun.trav']:.1f}° lies out" in said
