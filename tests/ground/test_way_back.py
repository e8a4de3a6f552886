"""The way back to a contact is what the party walked: its own bearing and count, or those of the back bearing."""

import pytest

HEAD = "notation 1\ntraverse Test Dale\nattitudes dip-right\nunit Sh Reed Shale ; Jurassic\nunit Ss Pike Sandstone ; Triassic\n"


def way_back_of(compile_text, rest):
    (one,) = compile_text(HEAD + rest).trav.ground.ways_back
    return one


@pytest.mark.parametrize(
    ("north", "along", "station", "reads", "paces"),
    [
        ("bearings magnetic\ndeclination 5 E, 2026, map margin\n", "30p", "1", 90.0, 30.0),
        ("bearings magnetic\ndeclination 5 E, 2026, map margin\n", "80p", "2", 270.0, 20.0),
        ("bearings true\n", "80p", "2", 270.0, 20.0),
    ],
)
def test_it_is_read_and_counted_as_it_was_walked(compile_text, north, along, station, reads, paces):
    """From the nearer end of the leg; a bearing of 090 is 270 from its other end (plane geometry)."""
    one = way_back_of(
        compile_text,
        f"{north}pace double 1.5 m\nat 1\n  unit Ss\nto 2 090 100p\nalong {along}\n  contact Sh/Ss inferred\n",
    )
    assert one.station == station
    assert one.reads_deg == pytest.approx(reads, abs=0.01)
    assert one.pace is not None
    assert one.distance_m / one.pace.length_m == pytest.approx(paces, abs=0.01)


GRID = "grid EPSG:3978\ncontrol 1 2796564.8 E 933883.2 N 0 m\n"
"""54° W 49° N, by PROJ: true to scale, and its north is 36.9° east of true north."""


@pytest.mark.parametrize(("along", "station", "reads"), [("30m", "1", 47.0), ("80m", "2", 227.0)])
@pytest.mark.parametrize("north", ["true", "grid", "magnetic\ndeclination 25 E, 2026, map margin"])
def test_it_reads_as_the_page_does_in_a_grid_whose_north_is_off(compile_text, north, along, station, reads):
    one = way_back_of(
        compile_text,
        f"{GRID}bearings {north}\nat 1\nunit Ss\nto 2 047 100m\nalong {along}\ncontact Sh/Ss inferred\n",
    )
    assert one.station == station
    assert one.reads_deg == pytest.approx(reads, abs=0.01)


def test_beside_iron_the_compass_reads_what_it_read_before(compile_text):
    """At 2 it is drawn 8° aside, as the bearings both ways over two legs show: along 2–3 it read 098, true to 090."""
    one = way_back_of(
        compile_text,
        "bearings magnetic\ndeclination 5 E, 2026, map margin\nat 1\nunit Ss\nto 2 047 100m back 235\nat 2\niron gate\n"
        "to 3 098 100m back 270\nalong 20m\ncontact Sh/Ss inferred\n",
    )
    assert one.station == "2"
    assert one.reads_deg == pytest.approx(98.0, abs=0.01)


def test_a_contact_at_a_station_wants_no_bearing(compile_text):
    one = way_back_of(
        compile_text,
        "bearings true\nat 1\n  unit Ss\nto 2 090 100m\nalong 100m\n  contact Sh/Ss inferred\n",
    )
    assert (one.station, one.reads_deg, one.pace) == ("2", None, None)
