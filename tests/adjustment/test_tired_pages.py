"""Slips as a tired student types them, on pages of invented ground: each named at its line, and no one else accused."""

from __future__ import annotations

import math
import re

import pytest

from tests.adjustment.tired import ACROSS, GROUND, RING, Page, walked
from traverse.causes import under_causes
from traverse.location.crs import open_grid

OPEN = [(str(i), str(i + 1)) for i in range(1, 12)]
SPUR = [*RING[:4], ("5", "5a"), ("5a", "5b"), ("5", "6"), *RING[5:]]
EAST, NORTH = 500_000, 4_700_000


def first(page):
    """Line, slip and reading of the likeliest suspect."""
    suspect = page.survey()[0].suspects[0]
    return suspect.span.line, suspect.slip, suspect.reading


def lines(page, among=3):
    """Lines of the suspects."""
    return list(dict.fromkeys(one.span.line for one in page.survey()[0].suspects))[:among]


def tied(change=None, *, names="159", seed=4, grid=None, **settings):
    """A walk by known points, of which some have other figures."""
    rows = [f"grid EPSG:{grid}"] if grid else []
    for name in names:
        place = EAST + GROUND[name][0], NORTH + GROUND[name][1]
        east, north = (change or {}).get(name, lambda e, n: (e, n))(*place)
        rows.append(f"control {name} {east:.0f} E {north:.0f} N ±3 gps")
    return walked(OPEN, heading=rows, seed=seed, **settings)


CLEAN = {
    "a loop": walked(RING), "both bearings": walked(RING, back="all"), "two loops": walked(RING + ACROSS),
    "slopes": walked(RING, slopes=True, seed=2), "a spur": walked(SPUR, seed=3), "ties": tied(),
    "ties on a grid": tied(grid=32630), "ties with a declination": tied(declination=-2.4),
}  # fmt: skip


@pytest.mark.parametrize("name", CLEAN)
def test_a_clean_page_accuses_nobody(name):
    survey, said = CLEAN[name].survey()
    assert survey.suspects == ()
    assert survey.deviations == ()
    assert not [one for one in said if one.code == "closure-fails"]


@pytest.mark.parametrize("typed", ["1030p", "10.3p"])
def test_a_count_ten_times_out(typed):
    page = CLEAN["a loop"].typed("to 5 350 103p", f"to 5 350 {typed}")
    assert page.line_of("5") in lines(page)
    assert "103p" in [one.reading for one in page.survey()[0].suspects]


def test_a_slope_of_thirty_for_three():
    page = CLEAN["slopes"].typed("to 2 055 103p +3", "to 2 055 103p +30")
    assert lines(page)[0] == page.line_of("2")
    assert "+3" in [one.reading for one in page.survey()[0].suspects]


@pytest.mark.parametrize(
    ("ways", "seed", "old", "new"),
    [
        (RING, 12, "close 1 143 110p -2", "close 1 143 110p -20"),
        (RING + ACROSS, 21, "to 2 053 107p +2", "to 2 053 107p +20"),
        (RING + ACROSS, 21, "close 9 338 69p -2", "close 9 338 69p -20"),
    ],
)
def test_a_slope_ten_times_out_is_first_and_one_message(ways, seed, old, new):
    page = walked(ways, seed=seed, slopes=True).typed(old, new)
    suspect = page.survey()[0].suspects[0]
    assert page.lines[suspect.span.line - 1] == new
    assert suspect.slip == "slope 10 times too steep"
    told = [one for one in page.survey()[1] if one.severity.value == "warning"]
    assert len(told) == 1
    assert "too" in told[0].message


def test_at_missing_after_a_spur():
    page = CLEAN["a spur"].typed("at 5", "")
    assert first(page) == (page.line_of("6"), "`at 5` missing before it", "from 5")


def test_at_another_station():
    page = CLEAN["a spur"].typed("at 5", "at 4")
    assert page.line_of("6") in lines(page)
    assert "from 5" in [one.reading for one in page.survey()[0].suspects]


def test_at_a_station_one_too_early_is_first():
    page = walked(SPUR, seed=7)
    page = page.typed("at 5", "at 4")
    assert page.line_of("6") in lines(page, among=2)
    page = Page([f"from 10 {row}" if row.startswith("to 12") else row for row in walked(RING, seed=11).lines])
    where = next(i for i, row in enumerate(page.lines, 1) if row.startswith("from 10"))
    assert where in lines(page)
    assert "from 11" in [one.reading for one in page.survey()[0].suspects]


def test_to_for_side():
    clean = [
        row.replace("to 5a", "side 5a")
        for row in CLEAN["a spur"].lines
        if not row.startswith(("to 5b", "at 5"))
    ]
    assert Page(clean).survey()[0].suspects == ()
    page = Page(clean).typed("side 5a", "to 5a")
    [suspect] = [one for one in page.survey()[0].suspects if one.start == "5a"]
    assert "`side 5a`" in suspect.slip
    assert page.line_of("6") in lines(page)


def test_a_back_bearing_that_decides_leaves_one_suspect():
    page = CLEAN["both bearings"].typed("to 10 205", "to 10 250")
    [suspect] = page.survey()[0].suspects
    assert (suspect.span.line, suspect.slip, suspect.reading) == (
        page.line_of("10"),
        "digits exchanged",
        "205",
    )


def test_two_bearings_misread_are_named_together_and_nothing_is_turned():
    page = CLEAN["both bearings"].typed("to 10 205", "to 10 250").typed("to 4 041", "to 4 014")
    survey, said = page.survey()
    assert survey.deviations == ()
    [failed] = [one for one in said if one.code == "closure-fails"]
    assert "two together would: 3 to 4 (digits exchanged, 041" in failed.hints[0]
    assert "9 to 10 (digits exchanged, 205" in failed.hints[0]
    assert len([one for one in said if one.severity.value == "warning"]) == 3


@pytest.mark.parametrize(
    ("name", "change", "slip"),
    [
        ("5", lambda e, n: (e, n + 300), "N: one digit misread"),
        ("9", lambda e, n: (e + 500, n), "E: one digit misread"),
        ("9", lambda e, n: (n, e), "E and N exchanged"),
        ("9", lambda e, n: (e, n + 10_000_000), "figures of the other hemisphere"),
        ("1", lambda e, n: (e, n + 10_000_000), "figures of the other hemisphere"),
        ("9", lambda e, n: open_grid(32630).from_zone_beside(-1, e, n), "figures of the neighbouring zone"),
        ("5", lambda e, n: (e + 37, n - 46), "the point lies elsewhere, or another was taken for it"),
        ("9", lambda e, n: (e + 37, n - 46), "the point lies elsewhere, or another was taken for it"),
    ],
)
def test_a_known_point_is_named_and_no_leg_is_blamed(name, change, slip):
    survey, said = tied({name: change}, grid=32630).survey()
    assert (survey.suspects[0].what, survey.suspects[0].slip) == (f"control {name}", slip)
    # At the end of a tie another bearing of the last leg comes to the same; nothing tells the two apart.
    others = [one for one in survey.suspects if one.what != f"control {name}"]
    assert [(one.what, one.slip) for one in others] in ([], [(f"8 to {name}", "bearing misread")])
    assert "walk-does-not-fit" not in {one.code for one in said}


def test_a_point_that_two_ties_share_is_one_message():
    said = tied({"5": lambda e, n: (e, n + 400)}, seed=31).survey()[1]
    [failed] = [one for one in said if one.code == "closure-fails"]
    assert "it would mend tie 5-6-7-8-9" in failed.message


@pytest.mark.parametrize(
    ("old", "new", "slip"),
    [
        ("declination 6.4 W", "declination 6.4 E", "E and W of the declination exchanged"),
        ("bearings magnetic", "bearings true", "declination left out: bearings were magnetic"),
    ],
)
def test_a_declination_is_named_and_no_known_point_is_blamed(old, new, slip):
    page = tied(declination=-6.4).typed(old, new)
    assert first(page)[:2] == (3, slip)
    assert not [one for one in page.survey()[0].suspects if one.what.startswith("control")]


def test_a_small_declination_of_the_wrong_sign_comes_first():
    page = tied(declination=-2.4).typed("2.4 W", "2.4 E")
    assert first(page) == (3, "E and W of the declination exchanged", "2.4 W")


def test_grid_for_magnetic():
    """Grid north lies 2.0° west of true there: what turns the walk is the declination and that."""
    for grid in (None, 32631):
        page = tied(grid=grid, declination=-6.4).typed("bearings magnetic", "bearings grid")
        assert first(page)[:2] == (3, "declination left out: bearings were magnetic")
        assert "declination-unused" in {one.code for one in page.survey()[1]}


def test_a_declination_that_is_set_on_the_dial_is_not_asked_about():
    page = tied(declination=-6.4).typed("bearings magnetic", "bearings true")
    set_on_it = page.typed("6.4 W", "6.4 W, 2026, map margin, set on the dial")
    assert "declination-unused" not in {one.code for one in set_on_it.survey()[1]}


def test_magnetic_for_true():
    clean = tied()
    page = Page(["notation 1", "bearings magnetic", "declination 6.4 W, 2026, chart", *clean.lines[2:]])
    assert first(page)[1] == "declination applied twice: bearings were true"


def test_the_pace_of_another():
    pace = "party MO Mara Olsen, JT Jon Tell\npace MO single 0.75 m\npace JT single 0.66 m"
    good = Page(tied(pace=pace).text.replace("at 1\n", "at 1\npacer MO\n").splitlines())
    assert good.survey()[0].suspects == ()
    line, slip, reading = first(good.typed("pacer MO", "pacer JT"))
    assert (line, slip, reading) == (10, "paces of MO reckoned by the pace of JT", "pacer MO")


def handed_over(page, number, pace_m):
    """The paces of the legs from a station on counted by a second pacer, below a line that says so."""
    at = page.line_of(number)
    rows = [
        re.sub(r"(\d+)p", lambda c: f"{round(int(c[1]) * 0.75 / pace_m)}p", row) for row in page.lines[at:]
    ]
    return Page([*page.lines[:at], "pacer JT", *rows])


def test_paces_of_two_pacers():
    """Exchanged in the heading, with the second pacer left out, called by the name of the first, and of another length."""
    pace = "party MO Mara Olsen, JT Jon Tell\npace MO single 0.75 m\npace JT single 0.66 m"
    ring = Page(walked(RING, pace=pace, seed=2).text.replace("at 1\n", "at 1\npacer MO\n").splitlines())
    good = handed_over(ring, "6", 0.66)
    assert good.survey()[0].suspects == ()
    heading = "\n".join(good.lines).replace("MO single", "XX single").replace("JT single", "MO single")
    exchanged = Page(heading.replace("XX single", "JT single").splitlines())
    told = {one.slip: one.span.line for one in exchanged.survey()[0].suspects[:3]}
    assert exchanged.lines[told["paces of MO and JT exchanged"] - 1].startswith("pace ")
    line, slip, reading = first(good.typed("pacer JT", ""))
    assert (slip, reading) == (
        "a line `pacer JT` missing: paces of JT reckoned by the pace of MO",
        "pacer JT",
    )
    assert abs(line - ring.line_of("7")) <= 1
    line, _, reading = first(good.typed("pacer JT", "pacer MO"))
    assert (line, reading) == (ring.line_of("6") + 1, "pacer JT")
    miscounted = good.typed("pace JT single 0.66 m", "pace JT single 0.80 m").survey()[0].suspects
    readings = [one.reading for one in miscounted if one.slip == "pace misread or miscounted"]
    assert any(abs(float(one.split()[1]) - 0.66) < 0.05 for one in readings), readings


def test_an_end_on_a_new_name_beside_the_start_is_asked_about():
    page = CLEAN["a loop"].typed("close 1 ", "to 18 ")
    [asked] = [one for one in page.survey()[1] if one.severity.value == "warning"]
    assert (asked.code, asked.span.line) == ("nearly-met", len(page.lines))
    assert "`close 1`" in asked.hints[0]


@pytest.mark.parametrize(("close", "line"), [("1", "12"), ("9", "14")])
def test_a_new_name_for_an_old_station_is_asked_about_where_another_loop_closes(close, line):
    """An arm that ends with nothing booked, where an old station is; one at which a bed was read was gone to for it."""
    page = CLEAN["two loops"].typed(f"close {close} ", "to 18 ")
    [asked] = [one for one in page.survey()[1] if one.severity.value == "warning"]
    assert (asked.code, asked.span.line) == ("nearly-met", page.line_of("18"))
    assert asked.hints[0].endswith(f"`close {close}` for `to 18`")
    at = page.line_of("18")
    booked = Page([*page.lines[:at], "attitudes dip-right", "  bed 040/30", *page.lines[at:]])
    assert "nearly-met" not in {one.code for one in booked.survey()[1]}


def test_a_walk_that_ends_elsewhere_is_not_asked_about():
    said = Page(CLEAN["a loop"].lines[:-3]).survey()[1]
    assert "nearly-met" not in {one.code for one in said}


def test_a_slip_that_mends_nothing_is_not_named():
    """A triangle with one side 60 ft too long: no slope is blamed for what slopes can't mend."""
    rows = "notation 1\nbearings true\ndistances feet\nat 1\nto 2 010 600 +2\nto 3 120 700 -2\nclose 1 251 810 +1"
    survey = Page(rows.splitlines()).survey()[0]
    assert survey.closures[0].q > 9.21
    assert not [one for one in survey.suspects if "slope" in one.slip or "per cent" in one.slip]


@pytest.mark.parametrize("wrong", [0, 1])
def test_a_triangle_with_seven_hundred_feet_for_six_hundred_and_forty(wrong):
    """700 for 640 is no usual slip: the side that lies along the gap is named with what would close it."""
    sides = [(20, 580), (140, 640)] if wrong else [(310, 640), (75, 720)]
    east, north = (sum(length * f(math.radians(a)) for a, length in sides) for f in (math.sin, math.cos))
    sides.append((round(math.degrees(math.atan2(-east, -north))) % 360, round(math.hypot(east, north))))
    sides[wrong] = (sides[wrong][0], 700)
    rows = [
        f"{word} {azimuth:03d} {length}"
        for word, (azimuth, length) in zip(("to 2", "to 3", "close 1"), sides, strict=True)
    ]
    page = Page(["notation 1", "bearings true", "distances feet", "at 1", *rows])
    survey, said = page.survey()
    assert survey.suspects[0].span.line == 5 + wrong
    # A hundred too many, 600, is near enough as well: the figure that closes is told beside it.
    [figure] = [
        one for one in survey.suspects if one.slip == "distance misread" and one.span.line == 5 + wrong
    ]
    assert abs(int(figure.reading[6:-2]) - 640) <= 12
    [failed] = [one for one in said if one.code == "closure-fails"]
    assert "explain" in failed.message


def test_a_reversed_bearing_and_lost_paces_are_named_together():
    page = walked(RING, seed=62, back="all").typed("to 6 046 106p", "to 6 226 106p")
    row = next(row for row in page.lines if row.startswith("to 11"))
    count = row.split()[3]
    page = page.typed(row, row.replace(count, f"{int(count[:-1]) - 100}p"))
    [failed] = [one for one in page.survey()[1] if one.code == "closure-fails"]
    assert "5 to 6 (bearing reversed, 046" in failed.hints[0]
    assert f"10 to 11 (100 paces dropped, {count}" in failed.hints[0]


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", [0, 1, 3, 4, 5, 6, 7])
def test_lost_paces_are_named_beside_bearings_that_contradict_each_other(seed):
    """A back bearing six degrees off says nothing of a hundred lost on another leg: each is asked about at its own line."""
    page = walked(RING, seed=seed, back="all")
    row = next(row for row in page.lines if row.startswith("to 11"))
    count = row.split()[3]
    page = page.typed(row, row.replace(count, f"{int(count[:-1]) + 100}p"))
    other = next(row for row in page.lines if row.startswith("to 6 "))
    back = other.split()[-1]
    page = page.typed(other, other.replace(f"back {back}", f"back {(int(other.split()[2]) + 186) % 360:03d}"))
    said = under_causes(page.survey()[1])
    [contradict] = [one for one in said if one.code == "fore-back"]
    [failed] = [one for one in said if one.code == "closure-fails"]
    assert contradict.span.line == page.line_of("6")
    assert not [hint for hint in contradict.hints if "misses by" in hint]
    at = page.line_of("11")
    assert at in lines(page) or re.search(rf"also at lines? [^;]*\b{at}\b", failed.hints[0])
    assert lines(page, among=1)[0] in [label.span.line for label in failed.labels]


def test_two_slips_are_told_where_one_of_them_is_asked_about():
    """The loop is told under the leg whose bearings contradict each other, and what would close it stays with it."""
    page = walked(RING, seed=62, back="all").typed("to 6 046 106p", "to 6 226 106p")
    row = next(row for row in page.lines if row.startswith("to 11"))
    count = row.split()[3]
    page = page.typed(row, row.replace(count, f"{int(count[:-1]) - 100}p"))
    [contradict] = [one for one in under_causes(page.survey()[1]) if one.code == "fore-back-reversed"]
    assert f"10 to 11 (100 paces dropped, {count}" in contradict.hints[0]


def test_loops_that_close_each_and_contradict_each_other_are_asked_about():
    """Two loops with a common side of three legs, on which ten degrees were misread."""
    found = None
    for seed in range(40):
        page = walked(RING + ACROSS, seed=seed)
        row = next(row for row in page.lines if row.startswith("to 14 "))
        azimuth = row.split()[2]
        page = page.typed(row, row.replace(azimuth, f"{(int(azimuth) + 10) % 360:03d}"))
        survey, said = page.survey()
        codes = [one.code for one in said if one.severity.value == "warning"]
        if "closures-disagree" in codes:
            found = survey, said
            break
    assert found is not None
    survey, said = found
    assert all(one.q < 12.0 for one in survey.closures)
    assert survey.suspects
    [asked] = [one for one in said if one.code == "closures-disagree"]
    assert asked.labels


STOPS = ["attitudes dip-right", "unit Sh Shale ; Jurassic", "unit Ss Sand ; Triassic"]


def with_stops(page):
    """A contact on each leg, and a unit and a bed at each station."""
    rows = []
    for row in page.lines:
        rows.append(row)
        if row.startswith("to "):
            name = row.split()[1]
            rows += ["along 31p", "contact Sh/Ss certain", f"at {name}", "unit Sh", "bed 120/30"]
    return Page(rows)


def test_an_at_that_was_left_out_is_asked_about_at_what_it_would_stand_above():
    page = with_stops(walked(RING, seed=71, heading=STOPS))
    assert "at-left-out" not in {one.code for one in page.survey()[1]}
    [asked] = [one for one in page.typed("at 9", "").survey()[1] if one.code == "at-left-out"]
    assert page.lines[asked.span.line - 2 : asked.span.line] == ["contact Sh/Ss certain", "at 9"]
    assert "`at 9`" in asked.hints[0]
    at = page.lines.index("at 9")
    silent = Page([row for i, row in enumerate(page.lines) if not at <= i <= at + 2])
    assert "at-left-out" not in {one.code for one in silent.survey()[1]}


def test_an_at_that_was_left_out_is_asked_about_where_an_arm_begins_there_later():
    page = with_stops(walked(RING + ACROSS, seed=71, heading=STOPS))
    at = page.lines.index("at 4")
    lost = Page([row for i, row in enumerate(page.lines) if i != at])
    assert lost.lines.count("at 4") == 1
    [asked] = [one for one in lost.survey()[1] if one.code == "at-left-out"]
    assert (asked.span.line, asked.hints[0].count("`at 4`")) == (at + 1, 1)


def test_an_along_whose_leg_is_lost_is_asked_about():
    page = with_stops(walked(RING, seed=71, heading=STOPS))
    close = next(i for i, row in enumerate(page.lines) if row.startswith("close 1 "))
    rows = [*page.lines[: close + 1], "along 22p", "contact Sh/Ss certain"]
    assert not {"along-below", "along-behind"} & {one.code for one in Page(rows).survey()[1]}
    for along, code in (("along 22p", "along-behind"), ("along 32p", "along-below")):
        lost = Page([*page.lines[:close], along, "contact Sh/Ss certain"])
        [asked] = [one for one in lost.survey()[1] if one.code.startswith("along-")]
        assert (asked.code, lost.lines[asked.span.line - 1]) == (code, along)
        assert "`to` or `close` line is missing above it" in asked.hints[0]


def test_an_along_above_its_own_leg_is_asked_about_and_what_it_leads_to_is_told_there():
    page = with_stops(walked(RING, seed=71, heading=STOPS))
    assert "along-behind" not in {one.code for one in page.survey()[1]}
    at = page.lines.index("at 4")
    moved = Page([*page.lines[: at + 1], "along 12p", "contact Sh/Ss certain", *page.lines[at + 1 :]])
    [asked] = [one for one in moved.survey()[1] if one.code == "along-behind"]
    assert moved.lines[asked.span.line - 1] == "along 12p"
    assert "below `at 4`" in asked.message
    assert asked.span.line + 1 in [span.line for span in asked.doubts]


def test_a_slope_that_alone_is_missing_is_asked_about_first():
    page = walked(RING, slopes=True, seed=7)
    assert not [one for one in page.survey()[1] if one.code.startswith("heights")]
    row = page.line_of("5") - 1
    bare = Page([*page.lines[:row], " ".join(page.lines[row].split()[:4]), *page.lines[row + 1 :]])
    [asked] = [one for one in bare.survey()[1] if one.code.startswith("heights")]
    assert f"no slope was booked from 4 to 5 (line {row + 1}), and it is taken as level" in asked.message


def test_one_leg_in_feet_among_paces_is_the_first_to_be_looked_at():
    page = CLEAN["a loop"]
    row = page.line_of("5") - 1
    slipped = page.typed(page.lines[row], page.lines[row].replace("103p", "103ft"))
    assert first(slipped) == (row + 1, "paces taken for feet", "103p")
    [fails] = [one for one in slipped.survey()[1] if one.code == "closure-fails"]
    assert " ft" not in fails.message


def test_a_start_at_a_wrong_name_is_asked_about():
    loop = walked(RING, seed=72, heading=["control 1 50000 E 70000 N ±3 gps"])
    [asked] = [one for one in loop.typed("at 1", "at 0").survey()[1] if one.severity.value == "warning"]
    assert (asked.code, loop.lines[asked.span.line - 1]) == ("nearly-met", "at 1")
    assert "`at 1` for `at 0`" in asked.hints[0]
    page = tied(seed=73, grid=32630)
    found = under_causes(page.typed("at 1", "at 21").survey()[1])
    [asked] = [one for one in found if one.severity.value == "warning"]
    assert (asked.code, page.lines[asked.span.line - 1]) == ("start-unknown", "at 1")


def test_a_known_point_that_is_not_used_is_told_as_such():
    survey, said = tied({"9": lambda e, n: (e + 37, n - 46)}).survey()
    assert survey.places["9"].kind.value == "control not used"
    [failed] = [one for one in said if one.code == "closure-fails"]
    assert "puts 9 as walked" in failed.message
    assert "of its known place" in failed.message


def test_all_that_explains_as_well_is_named_beside_a_distance():
    """A bearing forty degrees off is no usual slip: it is named, and with it each other figure that explains the gap."""
    page = Page(
        [
            "notation 1",
            "bearings true",
            "at 1",
            "to 2 057 109m",
            "to 3 101 102m",
            "to 4 210 112m",
            "to 5 239 117m",
            "to 6 294 98m",
            "close 1 348 93m",
        ]
    )
    survey, said = page.survey()
    told = {(one.span.line, one.slip, one.reading) for one in survey.suspects}
    assert (6, "bearing misread", "about 171") in told
    assert (5, "distance misread", "about 177m") in told
    [failed] = [one for one in said if one.code == "closure-fails"]
    assert f"no usual slip explains it; each of {len(survey.suspects)} other readings would" in failed.message
    # Held against the walk laid out again by hand: each of them closes it to a few metres.
    legs = {4: [57, 109], 5: [101, 102], 6: [210, 112], 7: [239, 117], 8: [294, 98], 9: [348, 93]}
    for line, slip, reading in told:
        changed = {key: list(leg) for key, leg in legs.items()}
        changed[line][slip == "distance misread"] = int("".join(c for c in reading if c.isdigit()))
        gap = [
            sum(length * f(math.radians(azimuth)) for azimuth, length in changed.values())
            for f in (math.sin, math.cos)
        ]
        assert math.hypot(*gap) < 8.0, (line, slip, reading)
