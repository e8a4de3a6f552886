"""The plane through one contact at several places, its errors, and how sure a contact under cover is."""

import math
from dataclasses import replace

import numpy as np
import pytest

from traverse.location.records import PartyCheck
from traverse.structure.form.contact_plane import contact_planes
from traverse.structure.readings.mean import bedding_mean
from traverse.structure.readings.place_errors import place_covariance

HEAD = "notation 1\nbearings true\nattitudes dip-right\nunit Bb Upper ;\nunit Aa Lower ;\n"
# A plane that dips 35 toward 120: its height falls by tan 35 along 120.
WHERE = [(0, 0), (180, 20), (60, 150), (-90, 70)]


def height(east, north, dip=35.0, way=120.0):
    along = east * math.sin(math.radians(way)) + north * math.cos(math.radians(way))
    return 500.0 - along * math.tan(math.radians(dip))


def log(sd=3):
    lines = [HEAD]
    lines += [
        f"control {index} {east + 1000} E {north + 1000} N {height(east, north):.6f} m ±{sd}"
        for index, (east, north) in enumerate(WHERE, start=1)
    ]
    for index in range(1, len(WHERE) + 1):
        lines += [f"at {index}", "contact Bb/Aa certain"]
    return "\n".join(lines) + "\n"


def test_places_on_a_plane_give_it_back(compile_text):
    (plane,) = compile_text(log()).geology.planes
    assert (plane.younger, plane.older) == ("Bb", "Aa")
    assert plane.dip_deg == pytest.approx(35.0, abs=1e-6)
    assert plane.strike_deg == pytest.approx(30.0, abs=1e-6)
    assert len(plane.lines) == 4


@pytest.mark.thorough
def test_its_errors_are_those_of_a_thousand_trials(compile_text):
    """Places redrawn by their own covariances, the plane found anew by least squares of the height over east and north."""
    geology = compile_text(log()).geology
    (plane,) = geology.planes
    places = np.array([(c.place.east_m, c.place.north_m, c.place.up_m) for c in geology.contacts])
    covariances = np.array([place_covariance(contact) for contact in geology.contacts])
    rng = np.random.default_rng(12)
    dips, strikes = [], []
    for _ in range(2000):
        moved = np.array(
            [
                rng.multivariate_normal(at, covariance)
                for at, covariance in zip(places, covariances, strict=True)
            ]
        )
        _, _, axes = np.linalg.svd(moved - moved.mean(axis=0))
        normal = axes[2] * math.copysign(1.0, axes[2][2])
        dips.append(math.degrees(math.atan2(math.hypot(normal[0], normal[1]), normal[2])))
        strikes.append(math.degrees(math.atan2(normal[0], normal[1])) - 90.0)
    assert plane.sd_dip_deg == pytest.approx(np.std(dips), rel=0.1)
    assert plane.sd_strike_deg == pytest.approx(np.std(strikes), rel=0.1)


def test_places_on_one_line_give_none(compile_text):
    text = HEAD + "control 1 0 E 0 N 100 m\nat 1\ncontact Bb/Aa certain\n"
    text += "".join(f"to {at} 090 100m +2\ncontact Bb/Aa certain\n" for at in (2, 3))
    (plane,) = compile_text(text).geology.planes
    assert (plane.strike_deg, plane.dip_deg, plane.sd_dip_deg) == (None, None, None)


@pytest.mark.parametrize(
    ("contact", "beds", "asked"),
    [
        ("contact Bb/Aa certain", "", True),
        ("contact Bb/Aa certain", "bed 090/30", False),
        ("contact Bb/Aa certain 090/30", "", False),
        # The line of the places would climb out of these beds by 17 m in a hundred.
        ("contact Bb/Aa certain", "bed 000/10", True),
        # Beds of two limbs say nothing of it, nor of an unconformity.
        ("contact Bb/Aa certain", "bed 090/30\nat 3\nbed 270/30", True),
        ("unconformity Bb/Aa certain", "bed 090/30", True),
    ],
)
def test_places_on_one_line_leave_open_how_a_contact_lies_unless_it_or_its_beds_were_read(
    compile_text, contact, beds, asked
):
    """Three places level along 090; beds that dip 30° to the south hold that line."""
    text = HEAD + f"control 1 0 E 0 N 100 m\nat 1\n{contact}\n"
    text += f"to 2 090 100m level\ncontact Bb/Aa certain\nto 3 090 100m level\n{contact}\nat 2\n{beds}\n"
    assert asked == any("stay open" in one.words for one in compile_text(text).geology.findings)


def test_a_contact_under_cover_is_as_sure_as_its_stretch_and_its_station(compile_text):
    """17 to 44 m of 58 m covered: half-way, 13.5 m to either side; evenly spread that is 13.5 / sqrt 3, and joined with the
    station's own error."""
    text = (
        HEAD
        + "control 1 0 E 0 N 100 m ±4\nat 1\nunit Aa\nto 2 090 58m level\ncovered 17m to 44m\ncontact Bb/Aa inferred\nat 2\nunit Bb\n"
    )
    (contact,) = compile_text(text).geology.contacts
    assert contact.half_width_m == pytest.approx(13.5, abs=1e-6)
    assert contact.place.east_m == pytest.approx(30.5, abs=1e-6)
    assert contact.sd_m == pytest.approx(math.hypot(13.5 / math.sqrt(3.0), contact.place.sd_m))
    assert contact.place.sd_m >= 4.0 * 0.99


@pytest.mark.parametrize(("n", "kappa"), [(8, 40.0), (20, 100.0)])
def test_the_cone_holds_the_true_mean_in_nineteen_of_twenty(n, kappa):
    """A thousand samples of Fisher's distribution, drawn by its inverse (Fisher, Lewis and Embleton 1987, 3.6.2; from memory)."""
    rng = np.random.default_rng(9)
    inside = 0
    for _ in range(1000):
        share = rng.uniform(size=n)
        cosine = 1.0 + np.log(share + (1.0 - share) * math.exp(-2.0 * kappa)) / kappa
        turn = rng.uniform(0.0, 2.0 * math.pi, n)
        level = np.sqrt(1.0 - cosine**2)
        poles = np.stack([level * np.sin(turn), level * np.cos(turn), cosine], axis=1)
        found = bedding_mean(poles)
        inside += found.dip_deg <= found.alpha95_deg
    assert inside / 1000 == pytest.approx(0.95, abs=0.02)


def test_the_border_of_loose_ground_is_no_plane(compile_text):
    """A gravel lies on the ground as it falls: one place 40 m off the plane through the rest is asked about in rock alone."""
    where = [*WHERE, (90, -60), (150, 120), (-40, -50)]
    rows = [
        f"control {at} {east + 1000} E {north + 1000} N {height(east, north) + 40.0 * (at == 3):.6f} m ±1"
        for at, (east, north) in enumerate(where, start=1)
    ]
    rows += [f"at {at}\ncontact Bb/Aa certain" for at in range(1, len(where) + 1)]

    def planes_and_asked(upper):
        found = compile_text("\n".join([HEAD.replace("Bb Upper ;", f"Bb Upper ; {upper}"), *rows]) + "\n")
        return len(found.geology.planes), [one.code for one in found.diagnostics if "plane" in one.code]

    assert planes_and_asked("Permian") == (1, ["off-its-plane"])
    assert planes_and_asked("Holocene") == (0, [])


@pytest.mark.parametrize(("off_m", "asked"), [(1.0, False), (6.0, True)])
def test_a_place_that_lies_0_m_off_is_not_asked_about(compile_text, off_m, asked):
    """However small the errors are said to be: of 1 m at one of seven places less than a step is left to it."""
    where = [*WHERE, (90, -60), (150, 120), (-40, -50)]
    rows = [
        f"control {at} {east + 1000} E {north + 1000} N {height(east, north) + off_m * (at == 3):.6f} m ±0.02"
        for at, (east, north) in enumerate(where, start=1)
    ]
    rows += [f"at {at}\ncontact Bb/Aa certain" for at in range(1, len(where) + 1)]
    found = compile_text("\n".join([HEAD, *rows]) + "\n").diagnostics
    assert any(one.code == "off-its-plane" for one in found) is asked


@pytest.mark.parametrize(("dip", "carried"), [(4, True), (16, False)])
def test_a_level_plane_round_a_dome_stands_for_no_contact(compile_text, dip, carried):
    """Four places at one height, beds beside each that dip away from the middle: the plane is level, and no bed is."""
    lines = [HEAD]
    for index, (east, north, way) in enumerate(
        [(100, 0, 90), (0, 100, 0), (-100, 0, 270), (0, -100, 180)], 1
    ):
        lines.append(f"control {index} {east + 1000} E {north + 1000} N 500 m ±2")
        lines += [f"at {index}", f"bed {(way - 90) % 360:03d}/{dip:02d}", "contact Bb/Aa certain"]
    (plane,) = compile_text("\n".join(lines) + "\n").geology.planes
    assert plane.dip_deg < 1.0
    assert plane.carried is carried


@pytest.mark.parametrize(("checked", "asked"), [(True, True), (False, False)])
def test_places_of_a_party_that_nothing_checks_accuse_no_other(compile_text, checked, asked):
    """Turned or stretched as a whole, its places lie anywhere: without them too few are left."""
    where = [*WHERE, (90, -60), (150, 120), (-40, -50)]
    rows = [
        f"control {at} {east + 1000} E {north + 1000} N {height(east, north) + 6.0 * (at == 3):.6f} m ±0.02"
        for at, (east, north) in enumerate(where, start=1)
    ]
    rows += [f"at {at}\ncontact Bb/Aa certain" for at in range(1, len(where) + 1)]
    found = compile_text("\n".join([HEAD, *rows]) + "\n")
    contacts = tuple(
        one
        if at < 3
        else replace(one, booked=replace(one.booked, span=one.booked.span._replace(file="b.trav")))
        for at, one in enumerate(found.geology.contacts)
    )
    check = PartyCheck(log="b.trav", loops=True, ratio=None, fails=False, whole=checked)
    survey = replace(found.survey, party_checks=(check,))
    said = contact_planes(survey, contacts, (), found.log.lengths).diagnostics
    assert any(one.code == "off-its-plane" for one in said) is asked
