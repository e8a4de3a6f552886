"""Float over a covered contact: it moves downhill, so that the highest piece of the unit below is the one that counts.

Common practice, no source.
"""

import pytest

LOG = """notation 1
bearings true
attitudes dip-direction
pace single 1 m
unit Pq Sandstone ;
unit Ps Shale ;
control 1 0 E 0 N 100 m
at 1
unit Ps
to 2 090 60p {slope}
covered 17p to 44p
contact Pq/Ps inferred
{floats}
at 2
unit Pq
"""


def told(compile_text, slope, *floats):
    lines = "\n".join(f"along {at}\nfloat {unit} common" for at, unit in floats)
    found = compile_text(LOG.format(slope=slope, floats=lines))
    return found, {one.code: one for one in found.diagnostics if one.code.startswith("float")}


def test_float_of_the_unit_above_moves_nothing(compile_text):
    found, said = told(compile_text, "+4", ("25p", "Pq"))
    assert set(said) == {"float-from-above"}
    assert said["float-from-above"].kind == "note"
    assert found.geology.contacts[0].half_width_m == pytest.approx(13.5)


def test_the_highest_float_of_the_unit_below_is_a_limit(compile_text):
    _, said = told(compile_text, "+4", ("20p", "Ps"), ("25p", "Ps"), ("22p", "Ps"))
    assert set(said) == {"float-limits"}
    assert "between 25p and 44p" in said["float-limits"].message
    assert said["float-limits"].kind == "note"


def test_on_the_way_down_it_is_the_unit_ahead(compile_text):
    _, said = told(compile_text, "-4", ("40p", "Pq"), ("36p to 42p", "Pq"), ("25p", "Ps"))
    assert "float of Pq goes up to 36p" in said["float-limits"].message
    assert "between 17p and 36p" in said["float-limits"].message
    assert "Ps comes from above" in said["float-from-above"].message


def test_a_contact_drawn_below_its_float_is_warned_of_and_stays(compile_text):
    found, said = told(compile_text, "+4", ("38p", "Ps"))
    warned = said["float-above-contact"]
    assert (warned.kind, warned.span.line) == ("warning", 12)
    assert warned.hints == ("`covered 38p to 44p` for the stretch it can lie in",)
    assert found.geology.contacts[0].place.east_m == pytest.approx(30.4, abs=0.1)


@pytest.mark.parametrize("slope", ["level", "+1", ""])
def test_where_nothing_tells_which_way_it_moved_nothing_is_said(compile_text, slope):
    assert told(compile_text, slope, ("38p", "Ps"), ("25p", "Pq"))[1] == {}


def test_float_beyond_the_cover_or_of_another_unit_says_nothing(compile_text):
    text = LOG.replace("unit Pq Sand", "unit Qt Till ;\nunit Pq Sand")
    lines = "along 10p\nfloat Ps\nalong 50p\nfloat Ps\nalong 30p\nfloat Qt\nalong 31p\nfloat flint"
    found = compile_text(text.format(slope="+4", floats=lines))
    assert not [one for one in found.diagnostics if one.code.startswith("float")]
