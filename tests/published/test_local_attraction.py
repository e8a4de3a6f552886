"""Local attraction: two closed compass traverses of the handbooks whose disturbed stations are printed.

B. C. Punmia, Surveying, vol. 1, chapter on the compass, from memory: the readings bear their answers out, since the way
from the undisturbed stations round the loop ends at a reading that agrees.
"""

import re

import pytest

HEAD = "notation 1\nbearings true\nprecision bearing 0.05\ncontrol A 0 E 0 N\n"
CASES = {
    "C and D sound": (
        # Line, fore bearing, back bearing; corrected fore bearing.
        [
            ("A", "B", "75°05'", "254°20'", "75°35'"),
            ("B", "C", "115°20'", "296°35'", "116°35'"),
            ("C", "D", "165°35'", "345°35'", "165°35'"),
            ("D", "E", "224°50'", "44°05'", "224°50'"),
            ("E", "A", "304°50'", "125°05'", "305°35'"),
        ],
        {"A": -0.5, "B": -1.25, "E": -0.75},
    ),
    "D and E sound": (
        [
            ("A", "B", "191°45'", "13°00'", "194°15'"),
            ("B", "C", "39°30'", "222°30'", "40°45'"),
            ("C", "D", "22°15'", "200°30'", "20°30'"),
            ("D", "E", "242°45'", "62°45'", "242°45'"),
            ("E", "A", "330°15'", "147°45'", "330°15'"),
        ],
        {"A": -2.5, "B": -1.25, "C": 1.75},
    ),
}


def degrees(angle):
    whole, minutes = re.fullmatch(r"(\d+)°(\d\d)'", angle).groups()
    return int(whole) + int(minutes) / 60.0


@pytest.mark.parametrize("name", CASES)
def test_disturbed_stations_and_corrected_bearings(compile_text, name):
    """No lengths are printed: 100 m each here, and the loops need not close."""
    lines, disturbed = CASES[name]
    text = HEAD + "at A\n"
    for start, end, fore, back, _ in lines:
        text += f"from {start} {'close' if end == 'A' else 'to'} {end} {fore:0>7} 100m back {back:0>7}\n"
    survey = compile_text(text).trav.survey
    assert {one.station: one.degrees for one in survey.deviations} == pytest.approx(disturbed, abs=0.01)
    found = [leg.azimuth_true_deg for leg in survey.legs]
    assert found == pytest.approx([degrees(corrected) for *_, corrected in lines], abs=0.01)
