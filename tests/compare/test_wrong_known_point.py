"""A known point of a camp that others contradict is left out, and named; the parties lie by the rest."""

import math

import pytest

from tests.compare.round_walks import Ground, asked, held, joined
from tests.compare.test_legs_and_turns import line_of_leg, plain_leg
from tests.thorough import some
from traverse.compile import compile_log
from traverse.location.records import PlaceKind
from traverse.sheet.said.sentences import not_adjusted, verdict
from traverse.sheet.said.stops import gather
from traverse.sheet.said.tomorrow import to_check
from traverse.source import Source

SEEDS = range(6)
EAST, NORTH = 431200, 5205400
OF_PARTIES = {"tie-differs", "party-differs", "closure-fails", "control-differs"}


def fixed(ground, text, stop, *, off=0):
    """The log with a known point where it is, or `off` metres too far east, after the heading."""
    east, north = ground.places[stop]
    row = f"control {stop + 1} {EAST + round(east) + off} E {NORTH + round(north)} N 300 m ±4 gps"
    return text.replace("unit Fg", f"{row}\n\nunit Fg", 1).replace(
        "bearings magnetic", "grid EPSG:25833\nbearings grid"
    )


def camp(seed, *, off, hundred=""):
    """Three parties, four known points, of which E's lies `off` metres out; four ties of each two.

    One leg of the party `hundred` is typed a hundred metres too long.
    """
    ground = Ground(seed)
    slip = {plain_leg(ground): lambda length: f"{length + 100:.1f}"}
    logs = {
        one: ground.walk(
            (seed, one), north="magnetic", bearings=6.0, lengths=slip if one == hundred else None
        )
        for one in "ABE"
    }
    logs["A"] = fixed(ground, logs["A"], 0)
    logs["B"] = fixed(ground, fixed(ground, logs["B"], 3), 7)
    logs["E"] = fixed(ground, logs["E"], 5, off=off)
    logs = {one: text.replace("declination 6 E, 2026, map margin\n", "") for one, text in logs.items()}
    rows = [
        "notation 1",
        "traverse Sallow Combe",
        "grid EPSG:25833",
        *(f"log {one}.trav as {one}" for one in logs),
    ]
    rows += [f"tie {a}-{at} to {b}-{at}" for a, b in ("AB", "BE") for at in (2, 5, 8, 10)]
    files = {f"{one}.trav": text for one, text in logs.items()}
    text = "\n".join(rows) + "\n"
    found = compile_log(Source(name="camp.trav", text=text), load=lambda path: files[path].encode())
    assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"]
    return ground, logs, found


def farthest(ground, found):
    """How far the station that lies worst is from where it is."""
    return max(
        math.dist((place.east_m - EAST, place.north_m - NORTH), ground.places[int(name[2:]) - 1])
        for name, place in found.survey.places.items()
    )


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_it_is_left_out_and_all_lie_where_they_are(seed):
    ground, logs, found = camp(seed, off=100)
    places = found.survey.places
    assert {name for name, one in places.items() if one.kind is PlaceKind.UNUSED} == {"E-6"}
    assert farthest(ground, found) < 12.0
    # What runs to it is adjusted without it.
    in_plan = [verdict(one).split("; ")[0] for one in found.survey.closures]
    assert in_plan.count("one of its known points is left out") == 1
    assert "NOT ADJUSTED" not in in_plan
    assert not_adjusted(found.log, found.survey) in {None, "HEIGHTS NOT ADJUSTED"}
    line = next(at for at, row in enumerate(logs["E"].splitlines(), 1) if row.startswith("control"))
    first = to_check(found.trav, gather(found.trav), found.diagnostics)[0]
    assert (first.span.file, first.span.line) == ("E.trav", line)
    assert {(one.span.file, one.span.line) for one in found.survey.suspects} <= {("E.trav", line)}
    assert not any(code in {"tie-differs", "party-differs"} for _, _, code in asked(found))
    assert any("control E-6 is not used" in one.message + " ".join(one.hints) for one in found.diagnostics)


@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_right_ones_are_all_kept(seed):
    ground, _, found = camp(seed, off=0)
    assert {name for name, one in found.survey.places.items() if one.kind is PlaceKind.CONTROL} == {"A-1", "B-4", "B-8", "E-6"}  # fmt: skip
    assert farthest(ground, found) < 12.0
    assert not [code for _, _, code in asked(found) if code in OF_PARTIES]


@pytest.mark.in_turn
@pytest.mark.parametrize("hundred", ["B", "E"])
@pytest.mark.parametrize("seed", some((0, 1, 3), 2))
def test_it_is_named_beside_a_slip_elsewhere_and_in_its_own_party(seed, hundred):
    """The loop of one party fails by a leg: weighed without that leg, all else speaks against the one known point."""
    ground, logs, found = camp(seed, off=100, hundred=hundred)
    line = next(at for at, row in enumerate(logs["E"].splitlines(), 1) if row.startswith("control"))
    (told,) = [one for one in found.diagnostics if "control E-6 is not used" in one.message]
    assert {(label.span.file, label.span.line) for label in told.labels} == {("E.trav", line)}
    slip = (f"{hundred}.trav", line_of_leg(logs[hundred], plain_leg(ground)))
    assert any(
        label.span.file == slip[0] and label.span.line == slip[1]
        for one in found.diagnostics
        for label in one.labels
    )


@pytest.mark.in_turn
@pytest.mark.parametrize("hundred", ["B", "E"])
@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_a_slip_of_a_leg_puts_no_known_point_in_doubt(seed, hundred):
    _, _, found = camp(seed, off=0, hundred=hundred)
    own = {one.name for one in found.log.controls if one.span.file != f"{hundred}.trav"}
    assert not {name for name in own if found.survey.places[name].kind is PlaceKind.UNUSED}
    assert "E-6 is not used" not in " ".join(one.message for one in found.diagnostics)


@pytest.mark.in_turn
@pytest.mark.parametrize("off", [100, -40])
@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_a_known_point_that_the_log_s_own_walk_contradicts_is_named_against_a_key(seed, off):
    """Two others hold the walk, which lies right; the figures of the third are another point's."""
    ground = Ground(seed)

    def log(who, **wrong):
        text = ground.walk((seed, who), bearings=6.0)
        for stop in (0, 4, 8):
            text = fixed(ground, text, stop, **(wrong if stop == 4 else {}))
        return text.replace("declination 6 E, 2026, map margin\n", "")

    party, key = log("party", off=off), log("key")
    comparison = held(party, key)
    (found,) = comparison.causes
    assert party.splitlines()[found.span.line - 1].startswith("control 5 ")
    assert found.cause == "known point 5 is not where the key has it"
    assert held(log("party"), key).causes == ()


@pytest.mark.in_turn
@pytest.mark.parametrize(
    ("slip", "named"),
    [
        (("attitudes dip-right", "attitudes dip-left"), "dip-left for dip-right"),
        (("distances metres", "distances feet"), "metres taken for feet"),
    ],
)
@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_it_is_named_beside_a_wrong_heading_where_it_lies_between_others(seed, slip, named):
    """The leg to the third closes two ties, of which that over the wrong point fails."""
    ground = Ground(seed)

    def log(who, off=0):
        text = ground.walk((seed, who), bearings=6.0)
        for stop in (0, 5, 8):
            text = fixed(ground, text, stop, off=off if stop == 5 else 0)
        return text.replace("declination 6 E, 2026, map margin\n", "").replace(" N 300 m ±4", " N ±4")

    party = log("party", off=100).replace(*slip)
    causes = held(party, log("key")).causes
    assert [one.cause for one in causes] == [named, "known point 6 is not where the key has it"]
    assert causes[1].not_excluded == ("another point taken for it",)


def test_what_a_station_may_be_off_grows_from_the_known_point_that_holds_it():
    """The walk hangs on its fifth stop: 5 m there, and 2 % of the way from there on, by the scheme that ships."""
    ground = Ground(0)
    text = fixed(ground, ground.walk((0, "party"), bearings=6.0), 4).replace(
        "declination 6 E, 2026, map margin\n", ""
    )
    comparison = held(text, text)
    (location,) = (one for one in comparison.marks if one.part.value == "location")
    # The two points' own errors, and the key's of its walk, are allowed beside the scheme's limit.
    limit = {
        one.what: math.sqrt(one.limit**2 - one.pair.key_sd_m**2 - one.pair.log_sd_m**2)
        for one in location.items
    }
    (held_at,) = (one for one in location.items if one.what == "station 5")
    assert held_at.limit == pytest.approx(math.hypot(5.0, 4.0, 4.0), abs=1e-6)
    metres = lambda start, end: math.dist(ground.places[start], ground.places[end])  # noqa: E731
    assert limit["station 5"] == pytest.approx(5.0, abs=1e-5)
    assert limit["station 4"] == pytest.approx(5.0 + 0.02 * metres(3, 4), abs=0.2)
    assert limit["station 6"] == pytest.approx(5.0 + 0.02 * metres(4, 5), abs=0.2)
    assert limit["station 7"] == pytest.approx(5.0 + 0.02 * (metres(4, 5) + metres(5, 6)), abs=0.3)


@pytest.mark.in_turn
@pytest.mark.parametrize("wrong", ["A", "B", "E"])
@pytest.mark.parametrize(
    ("letters", "ties"), [("AE", ()), ("ABE", ()), ("ABE", ("tie E-6 to 6", "tie 6 to B-6"))]
)
@pytest.mark.parametrize("seed", some(SEEDS, 2))
def test_of_a_point_that_all_have_the_one_with_other_figures_is_asked_alone(seed, letters, ties, wrong):
    """Two that differ don't say which is wrong, and their walks do; ties by the one name stop nothing."""
    ground = Ground(seed)
    wrong = wrong if wrong in letters else "A"
    logs = {}
    for one in letters:
        text = ground.walk((seed, one), bearings=6.0)
        for stop in (0, 5, 8):
            text = fixed(ground, text, stop, off=100 if (one, stop) == (wrong, 5) else 0)
        logs[one] = text.replace("declination 6 E, 2026, map margin\n", "").replace(" N 300 m ±4", " N ±4")
    found = joined(logs, [tie.split()[1::2] for tie in ties])
    line = next(at for at, row in enumerate(logs[wrong].splitlines(), 1) if row.startswith("control 6 "))
    assert {file for file, _, _ in asked(found)} == {f"{wrong}.trav"}
    assert {(one.span.file, one.span.line) for one in found.survey.suspects} == {(f"{wrong}.trav", line)}
    assert [name for name, one in found.survey.places.items() if one.kind is PlaceKind.UNUSED] == [
        f"{wrong}-6"
    ]
