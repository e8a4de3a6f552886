"""Layers hold what the JSON and the sheet hold, in the grid, and say what each field means."""

import math
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pyproj
import pytest
import shapely

from tests.layers.tables import layers
from traverse.compile import compile_log, layer_ground
from traverse.layers.drawn_signs import scale_of
from traverse.layers.lay_layers import LocalGridError, in_lon_lat, layers_of
from traverse.layers.making import Reference
from traverse.layers.records import Geometry
from traverse.output.gis.layer_columns import rounded
from traverse.output.json_file import as_json
from traverse.source import Source

SAMPLES = Path(__file__).parent.parent.parent / "samples"
LOGS = sorted(SAMPLES.rglob("*.trav"))


def compiled(path):
    found = compile_log(
        Source(name=path.name, text=path.read_text(encoding="utf-8")),
        load=lambda one: (path.parent / one).read_bytes(),
    )
    assert found.trav is not None
    return found


@pytest.fixture(scope="module", params=LOGS, ids=lambda path: path.stem)
def day(request):
    found = compiled(request.param)
    return found, layers(found.trav)


def rows(made, name):
    layer = made.layer(name)
    names = [one.name for one in layer.fields]
    return [dict(zip(names, row, strict=True)) for row in zip(*rounded(layer), strict=True)]


PAIRS = {
    "stations": ("stations", ("name", "kind", "east", "north", "up", "lon", "lat", "standing")),
    "legs": ("legs", ("from", "to", "kind", "line", "azimuth", "horizontal", "rise", "standing")),
    "loops": ("loops", ("kind", "line", "length", "ratio", "q", "q_up", "adjusted")),
    "contacts": (
        "contacts",
        ("kind", "line", "younger", "older", "queried", "met", "half_width", "east", "north", "up", "strike", "dip"),
    ),
    "thicknesses": ("thicknesses", ("unit", "true", "sd", "at_least")),
    "elevations": ("elevations", ("station", "time", "height", "sd", "source", "line", "east", "north", "up")),
    "times": ("times", ("station", "line", "date", "time")),
}  # fmt: skip


@pytest.mark.parametrize("name", PAIRS)
def test_a_layer_has_the_figures_of_the_json(day, name):
    found, made = day
    key, fields = PAIRS[name]
    wanted = as_json(found.log, found.trav, ())[key]
    assert [[row[one] for one in fields] for row in rows(made, name)] == [
        [row[one] for one in fields] for row in wanted
    ]


def test_planes_and_lines_are_the_attitudes_of_the_json(day):
    found, made = day
    wanted = as_json(found.log, found.trav, ())["attitudes"]
    shared = ("station", "kind", "unit", "written", "n", "spread", "turned_for_iron", "line", "east", "north")
    planes = [one for one in wanted if one["trend"] is None]
    lines = [one for one in wanted if one["trend"] is not None]
    for name, those, own in (
        ("planes", planes, ("strike", "dip", "dip_direction", "overturned", "tops")),
        ("lines", lines, ("trend", "plunge")),
    ):
        assert [[row[one] for one in (*shared, *own)] for row in rows(made, name)] == [
            [one[key] for key in (*shared, *own)] for one in those
        ]


def test_all_that_was_noted_is_in_one_layer_or_another(day):
    found, made = day
    wanted = as_json(found.log, found.trav, ())["things"]
    placed = [row["line"] for name in ("samples", "photos", "hazards", "notes") for row in rows(made, name)]
    assert sorted(placed) == sorted(one["line"] for one in wanted)
    samples = [one["label"] for one in wanted if one["kind"] == "sample"]
    assert [row["label"] for row in rows(made, "samples")] == samples


def test_areas_are_the_ground_that_was_looked_at_and_part_it(day):
    found, made = day
    band = layer_ground(found.trav).ground.map.band
    areas = made.layer("areas")
    assert math.isclose(sum(one.area for one in areas.shapes), band.whole.area, rel_tol=1e-3)
    assert shapely.union_all(list(areas.shapes)).difference(band.whole.buffer(0.01)).area < 0.5


def test_contacts_as_lines_run_through_the_places_where_they_were_met(day):
    found, made = day
    met = {(one.booked.span.file, one.booked.span.line): one.place for one in found.trav.geology.contacts}
    layer = made.layer("contact_lines")
    for row, line in zip(rows(made, "contact_lines"), layer.shapes, strict=True):
        place = met[row["file"] or found.log.file, row["line"]]
        if row["seen"] == "carried":
            assert row["certainty"] == "approximate"
            continue
        reach = 2.0 + (row["half_width"] or 0.0) + 2.0 * (place.half_width_m or 0.0)
        assert line.distance(shapely.Point(place.east_m, place.north_m)) < reach


def test_what_was_computed_stands_apart_and_names_the_lines_that_it_rests_on():
    found = compiled(SAMPLES / "oskerra-valley" / "oskerra-valley.trav")
    made = layers(found.trav)
    computed = rows(made, "computed_lines")
    assert len(computed) == len(found.trav.ground.joins) + len(found.trav.ground.outcrops) + 1
    lines = {one["line"] for one in rows(made, "contacts")}
    for row in computed:
        if row["kind"] in {"contact", "fault"}:
            assert {int(one) for one in row["rests_on"].split(", ")} <= lines


@pytest.mark.parametrize(
    ("booked", "kept"), [("", True), ("along 50m\n  contact Up/Lo inferred\nat 2\n", False)]
)
def test_a_change_of_unit_that_nobody_booked_is_a_computed_line_with_its_leg(booked, kept):
    """The map has it dashed with a query: a map of other programs has it too, and never among contacts that were met."""
    log = (
        "notation 1\nbearings true\nunit Up Upper Grit ; Carboniferous\nunit Lo Lower Shale ; Carboniferous\nat 1\n  unit Lo\n"
        f"to 2 090 100m level\n{booked}  unit Up\nto 3 000 100m level\n  unit Up\n"
    )
    found = compile_log(Source(name="a.trav", text=log), load=lambda _: b"")
    assert found.trav is not None
    made = layers(found.trav)
    changes = [row for row in rows(made, "computed_lines") if row["kind"] == "unbooked change"]
    assert bool(changes) == kept
    assert bool(rows(made, "contacts")) != kept
    if kept:
        (row,), (line,) = changes, made.layer("computed_lines").shapes
        assert (row["younger"], row["older"], row["rests_on"]) == ("Up", "Lo", "7")
        assert "half-way" in row["basis"]
        # To each side a twentieth of the 141 m between the farthest places, to the metre.
        assert math.isclose(line.length, 14.0, abs_tol=0.1)
        assert math.isclose(line.centroid.x, 50.0, abs_tol=0.1)


def test_a_sign_turns_by_grid_north_in_the_grid_and_by_true_north_on_the_globe(day):
    found, made = day
    for name, toward in (("planes", "strike"), ("lines", "trend")):
        for row in rows(made, name):
            if row[toward] is not None and "tops" not in row["sign"]:
                off = (row["rotation"] + found.trav.survey.frame.to_true_deg - row[toward]) % 360.0
                assert min(off, 360.0 - off) < 1e-4
    if found.trav.survey.frame.epsg is None:
        return
    globe = in_lon_lat(made, found.trav, what="a map")
    for row in rows(globe, "planes"):
        if row["strike"] is not None and "tops" not in row["sign"]:
            assert math.isclose(row["rotation"], row["strike"], abs_tol=1e-4)


def test_longitude_and_latitude_are_those_of_a_transformation_by_name(day):
    """PROJ, asked by the two codes with east or longitude first; it is the project's own library for it as well."""
    found, made = day
    epsg = found.trav.survey.frame.epsg
    if epsg is None:
        with pytest.raises(LocalGridError, match="local grid"):
            in_lon_lat(made, found.trav, what="GPX")
        return
    globe = in_lon_lat(made, found.trav, what="a map")
    move = pyproj.Transformer.from_crs(4326, epsg, always_xy=True)
    for layer, there in zip(made.layers, globe.layers, strict=True):
        if layer.geometry is Geometry.TABLE or not layer.rows:
            continue
        grid, lon_lat = (shapely.get_coordinates(list(one.shapes)) for one in (layer, there))
        back = np.column_stack(move.transform(lon_lat[:, 0], lon_lat[:, 1]))
        assert np.abs(back - grid).max() < 0.01
        assert there.crs.epsg == 4326


def test_every_field_is_told_once_in_the_dictionary_and_names_fit_every_format(day):
    _, made = day
    told = {(row["layer"], row["field"]) for row in rows(made, "dictionary")}
    for layer in made.layers:
        names = [one.name for one in layer.fields]
        assert len({one.lower() for one in names}) == len(names)
        assert not {"fid", "geom"} & set(names)
        for name in (layer.name, *names):
            assert name.isascii()
            assert name.replace("_", "").isalnum()
            assert len(name) <= 31
        if layer.name != "dictionary":
            assert all((layer.name, one) in told for one in names)
        assert all(one.means.endswith(".") for one in layer.fields), layer.name
        assert all(len(row) == len(names) for row in layer.rows)


def test_about_tells_party_grid_datum_limits_and_hazards(day):
    found, made = day
    told = dict(made.about.told)
    assert bool(found.log.heading.days) == ("date" in told)
    assert bool(found.log.heading.party) == ("party" in told)
    assert {
        "title",
        "grid",
        "longitude and latitude",
        "heights",
        "limits",
        "local rules",
    } <= set(told)
    assert made.about.told == tuple((row["what"], row["words"]) for row in rows(made, "about"))
    assert ("hazard" in told) == any(
        one["kind"] == "hazard" for one in as_json(found.log, found.trav, ())["things"]
    )


def test_signs_are_drawn_where_the_readings_are_and_of_the_size_on_the_sheet(day):
    found, made = day
    layer = made.layer("attitude_signs")
    scale = scale_of(Reference(found.trav))
    assert len(layer.rows) == len(found.trav.geology.attitudes)
    for shape, one in zip(layer.shapes, found.trav.geology.attitudes, strict=True):
        assert shape.distance(shapely.Point(one.place.east_m, one.place.north_m)) < 2.0 * scale / 1000.0
        assert shape.length < 40.0 * scale / 1000.0


def test_words_of_the_values_are_in_the_glossary(day):
    _, made = day
    words = {(row["field"], row["word"]) for row in rows(made, "glossary")}
    for name, field in (
        ("contacts", "certainty"),
        ("contacts", "kind"),
        ("planes", "kind"),
        ("lines", "kind"),
        ("stations", "kind"),
        ("stations", "standing"),
    ):
        values = {row[field] for row in rows(made, name)} - {None}
        assert {(field, one) for one in values} <= words


def test_a_walk_left_open_says_so_in_every_leg_and_about():
    text = """notation 1
traverse Tarn
bearings true
at 1
to 2 090 100m level
to 3 180 100m level
close 1 300 180m level
"""
    found = compile_log(Source(name="a.trav", text=text), load=Path.read_bytes)
    made = layers_of(layer_ground(found.trav))
    assert ("adjustment", "NOT ADJUSTED.") in made.about.told
    assert {row["standing"] for row in rows(made, "legs")} == {"not adjusted"}


def test_the_page_on_the_data_lists_every_layer_with_its_fields():
    found = compiled(SAMPLES / "oskerra-valley" / "oskerra-valley.trav")
    page = (SAMPLES.parent / "grammar" / "data.md").read_text(encoding="utf-8")
    for layer in layers(found.trav).layers:
        fields = ", ".join(one.name for one in layer.fields)
        row = f"| `{layer.name}` | {layer.geometry.value} | {layer.means.rstrip('.')} | {fields} |"
        assert row in page.splitlines()


def test_styles_are_well_formed_and_ask_for_fields_and_values_that_there_are(day):
    """Source of the elements: OGC 02-070, Styled Layer Descriptor 1.0.0, from memory."""
    _, made = day
    sld, ogc = "{http://www.opengis.net/sld}", "{http://www.opengis.net/ogc}"
    for name, text in made.styles.items():
        root = ET.fromstring(text)  # noqa: S314  our own text
        assert (root.tag, root.get("version")) == (f"{sld}StyledLayerDescriptor", "1.0.0")
        layer = made.layer(name)
        fields = {one.name for one in layer.fields}
        assert {one.text for one in root.iter(f"{ogc}PropertyName")} <= fields
        kinds = {"Point": Geometry.POINT, "Line": Geometry.LINE, "Polygon": Geometry.AREA}
        drawn = {kinds[kind] for kind in kinds if next(root.iter(f"{sld}{kind}Symbolizer"), None) is not None}
        assert drawn <= {layer.geometry}
        # What the sheet draws falls under some rule.
        if name in {"areas", "contact_lines", "legs", "stations"}:
            rules = [
                [(one[0].text, one[1].text) for one in rule.iter(f"{ogc}PropertyIsEqualTo")]
                for rule in root.iter(f"{sld}Rule")
            ]
            for row in rows(made, name):
                known = {
                    key: str(int(value)) if isinstance(value, bool) else value for key, value in row.items()
                }
                if name == "areas" and row["unit"] is None and not row["covered"]:
                    continue
                assert any(all(known[key] == value for key, value in rule) for rule in rules), row
