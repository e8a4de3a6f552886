"""What a warning says outdoors, beside the hint that `check` gives at the desk."""

import pytest

from traverse.diagnostic import warning
from traverse.sheet.said.field_words import to_do_outdoors


@pytest.mark.parametrize(
    ("hint", "outdoors"),
    [
        ("read it again; `ruling F-5 bed READING WHO DATE WHY` settles it", "Read it again."),
        ("`contact Rs/Ks inferred` under a `covered … to …` line of that leg. Or was it `unit Ks`", ""),
        (
            "look for iron near 4: a fence, dark rock; if there was some write `iron`",
            "Look for iron near 4: a fence, dark rock.",
        ),
        (
            "single or double, metres or feet? look at the page",
            "Single or double, metres or feet? Look at the page.",
        ),
        ("was it `322/68`? look again", "Was it “322/68”? Look again."),
        (
            "at one level it went down: `down SE`; or the list of units",
            "At one level it went down: “down SE”; or the list of units.",
        ),
        (
            "`contact Kl/Hs` would fit; else a contact before it is missing",
            "“contact Kl/Hs” would fit; else a contact before it is missing.",
        ),
        (
            "`contact Kl/Hs inferred` on that leg; else a contact before it is missing",
            "Else a contact before it is missing.",
        ),
        ("look at the page: `ruling F-5 bed READING WHO`; or go back", "Look at the page. Go back."),
        ("then `; intrusive` on its `unit` line; look at its borders", "Look at its borders."),
        ("type `elevation HEIGHT m map` at a station. Ask at the hut", "Ask at the hut."),
    ],
)
def test_typing_is_left_out_and_readings_stay(hint, outdoors):
    assert to_do_outdoors(warning("some-code", "a fact", None, hint)) == outdoors


def test_a_contact_left_out_still_sends_people_to_look_for_it():
    one = warning("contact-missing", "Sh is followed by Lt", None, "`contact Sh/Lt inferred` on that leg")
    assert to_do_outdoors(one) == "Look for where one gives way to the other."
