"""Every sample says what it shows, compiles without a warning, is tidy, and its geology agrees with itself."""

import json
from pathlib import Path

import numpy as np
import pytest

from tests.called import traverse
from traverse.command.files import LogFiles, read_source
from traverse.compile import compile_log
from traverse.log.items import GroundLine
from traverse.notation.tidy_text import tidy

SAMPLES = sorted((Path(__file__).parent.parent / "samples").glob("*/*.trav"))


def compiled(path):
    source, problems = read_source(str(path))
    assert not problems
    return compile_log(source, load=LogFiles(str(path)).load)


@pytest.fixture(params=SAMPLES, ids=lambda path: path.stem)
def sample(request):
    return request.param


def test_the_first_line_says_what_it_shows(sample):
    assert sample.read_text(encoding="utf-8").startswith("# Shows ")
    assert f"`{sample.parent.name}/`" in (sample.parent.parent / "README.md").read_text(encoding="utf-8")


def test_it_compiles_without_a_warning(sample):
    found = compiled(sample)
    assert [one.message for one in found.diagnostics if one.kind in {"error", "warning"}] == []


def test_it_closes_as_ordinary_work_does(sample):
    for closure in compiled(sample).survey.closures:
        assert closure.adjusted
        assert closure.q < 5.99


def test_it_is_tidy(sample):
    source, _ = read_source(str(sample))
    assert tidy(source).value == source.text


def test_units_are_as_thick_on_one_limb_as_on_the_other(sample):
    """Within three of their own standard errors, each unit crossed more than once; alluvium's neighbours apart."""
    by_unit = {}
    for one in compiled(sample).geology.thicknesses:
        by_unit.setdefault(one.unit, []).append(one)
    for unit, found in by_unit.items():
        if unit == "Km":  # its top is worn off under the alluvium
            continue
        mean = np.average([one.true_m for one in found], weights=[one.sd_m**-2 for one in found])
        for one in found:
            assert abs(one.true_m - mean) < 3.0 * one.sd_m, (unit, one.true_m, mean)


@pytest.mark.parametrize(
    "sample",
    [one for one in SAMPLES if "\nterrain " in one.read_text(encoding="utf-8")],
    ids=lambda path: path.stem,
)
def test_its_ground_lies_where_it_was_walked(sample):
    """Stations within a metre of the grid of heights, as its first lines say, and the stream along its lowest line."""
    found = compiled(sample)
    terrain = found.trav.ground.terrain
    places = list(found.survey.places.values())
    heights = terrain.at(np.array([one.east_m for one in places]), np.array([one.north_m for one in places]))
    assert np.abs(heights - [one.up_m for one in places]).max() < 1.0
    streams = [
        one.place for one in found.geology.things if getattr(one.record, "kind", None) is GroundLine.STREAM
    ]
    assert streams
    for place in streams:
        across = place.east_m + np.arange(-100.0, 101.0, 5.0)
        lowest = across[int(terrain.at(across, np.full(len(across), place.north_m)).argmin())]
        assert abs(lowest - place.east_m) <= terrain.spacing_m


def test_it_exports(sample):
    done = traverse("export", str(sample), "--to", "json")
    assert done.returncode == 0
    assert json.loads(done.stdout)["notation"] == 1
