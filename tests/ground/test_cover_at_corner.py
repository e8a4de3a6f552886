"""Cover met just past a corner of the walk is on its own leg, and not beside the leg before."""

import shapely

from traverse.ground.lay_map import lay_band

TEXT = (
    "notation 1\nbearings true\nattitudes dip-direction\nunit Bb Upper ; Jurassic\nunit Aa Lower ; Triassic\n"
    "sheet band 20 m\nat 1\nunit Aa\nbed 070/42\nto 2 099 120m level\nat 2\nunit Aa\nbed 070/42\n"
    "to 3 012 90m level\ncovered 5m to 12m scree\ncontact Bb/Aa concealed\nat 3\nunit Bb\nbed 070/42\n"
)


def test_it_does_not_run_on_beside_a_leg_on_which_rock_was_seen(compile_text):
    trav = compile_text(TEXT).trav
    band = lay_band(trav)
    corner = shapely.Point(trav.survey.places["2"].east_m, trav.survey.places["2"].north_m)
    covered = shapely.union_all([part for one in band.areas if one.covered for part in one.parts])
    assert covered.area > 7.0 * 20.0
    assert covered.hausdorff_distance(corner) < 50.0
    seen = shapely.union_all([part for one in band.areas if one.unit == "Aa" for part in one.parts])
    start = trav.survey.places["1"]
    leg = shapely.LineString([(start.east_m, start.north_m), corner])
    assert seen.contains(shapely.line_interpolate_point(leg, 60.0).buffer(18.0))
