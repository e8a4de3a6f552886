"""Which way a section is asked to be laid, where it runs along the strike."""

WALK = """notation 1
bearings true
attitudes dip-right
unit Kc Chalk ; Cretaceous
unit Sb Slate ; Silurian
section A-A' from 1 to 3
at 1
  unit Kc
  bed {cover}
to 2 090 100m level
at 2
  unit Kc
  bed {cover}
to 3 090 100m level
at 3
  unit Sb
  bed {slate}
"""


def fact(compile_text, **beds):
    (section,) = compile_text(WALK.format(**beds)).geology.sections
    return [(one.fact, one.remedy) for one in section.limits if one.code == "strike-along-section"]


def test_it_is_laid_square_to_the_strike_that_it_runs_along(compile_text):
    ((said, remedy),) = fact(compile_text, cover="110/20", slate="210/52")
    assert said.startswith("section A–A′ runs 20° off the strike")
    assert remedy.startswith("lay it across, near 020°")


def test_a_cover_that_lies_nearly_flat_does_not_ask_for_it(compile_text):
    assert fact(compile_text, cover="110/05", slate="210/52") == []
    assert fact(compile_text, cover="110/05", slate="110/05") != []
