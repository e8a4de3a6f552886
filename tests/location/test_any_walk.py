"""No walk that was read without errors makes the numbers stumble."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from tests.walk import along, conditions, control, pace, tie, walk
from traverse.diagnostic import Severity
from traverse.log.readings import North, Precision
from traverse.survey import survey_log

NAMES = st.sampled_from(["1", "2", "3", "4", "5", "6", "7a"])
BEARINGS = st.one_of(st.floats(0, 359.99), st.sampled_from([0, 90, 180, 270]))
LENGTHS = st.one_of(
    st.floats(0.01, 5000).map(lambda x: f"{x:.2f}m"),
    st.integers(1, 500).map(lambda n: f"{n}p"),
    st.integers(1, 500).map(lambda n: f"{n}ft"),
)
EXTRA = st.fixed_dictionaries(
    {},
    optional={
        "slope": st.floats(-89, 89),
        "back": BEARINGS,
        "horizontal": st.booleans(),
        "sd": st.floats(0.1, 20),
        "kind": st.sampled_from(["to", "close", "side"]),
    },
)
LEGS = st.lists(
    st.tuples(NAMES, NAMES, BEARINGS, LENGTHS, EXTRA).filter(lambda leg: leg[0] != leg[1]), max_size=14
)
SD = st.one_of(st.none(), st.floats(0.5, 20))
CONTROLS = st.lists(
    st.builds(
        lambda name, east, north, up, sd, line: control(
            name, east, north, up, sd=sd, sd_height=sd, line=line
        ),
        NAMES,
        st.floats(412000, 413000),
        st.floats(4288000, 4290000),
        st.one_of(st.none(), st.floats(-50, 3000)),
        SD,
        st.integers(10, 20),
    ),
    max_size=3,
)
TIES = st.lists(
    st.builds(
        lambda a, b, sd, line: tie(a, b, sd=sd, line=line), NAMES, NAMES, SD, st.integers(30, 400)
    ).filter(lambda one: one.first != one.second),
    max_size=2,
)
PRECISION = st.sampled_from(
    [Precision(), Precision(bearing_deg=0.0, slope_deg=0.0, pace_share=0.0, tape_share=0.0)]
)


@given(
    legs=LEGS,
    controls=CONTROLS,
    ties=TIES,
    rule=st.sampled_from([None, "compass-rule", "transit-rule", "least-squares", "none"]),
    anyway=st.sampled_from([None, "to see"]),
    epsg=st.sampled_from([None, 25830]),
    north=st.sampled_from([North.TRUE, North.GRID]),
    precision=PRECISION,
)
def test_any_walk_is_placed(legs, controls, ties, rule, anyway, epsg, north, precision):
    at = conditions(bearings=north, pace=pace(0.75), precision=precision)
    log = walk(
        *legs,
        controls=controls,
        ties=ties,
        rule=rule,
        anyway=anyway,
        epsg=epsg,
        at=at,
        addresses=lambda made: [along(leg, "0m", "0.01m", index=i) for i, leg in enumerate(made)],
    )
    survey, diagnostics = survey_log(log)
    for place in survey.places.values():
        assert all(
            map(math.isfinite, (place.east_m, place.north_m, place.up_m or 0.0, place.ellipse.major_m))
        )
        assert place.sd_east_m >= 0.0
    for leg in survey.legs:
        assert all(map(math.isfinite, (leg.adjusted.east_m, leg.adjusted.north_m, leg.adjusted.up_m)))
    for closure in survey.closures:
        assert closure.q >= 0.0
        assert closure.stations
    assert len(survey.legs) == len(legs)
    assert len(survey.addresses) == len(legs)
    if not any(one.severity is Severity.ERROR for one in diagnostics):
        assert {name for leg in log.legs for name in (leg.start, leg.end)} <= set(survey.places)
    if rule in {"compass-rule", "transit-rule"} and survey.adjusted and legs:
        for name, fix in {one.name: one for one in controls}.items():
            if name in survey.places and sum(one.name == name for one in controls) == 1:
                assert abs(survey.places[name].east_m - fix.east_m) < 1e-6
