"""One reading of an age, whatever its capitals, commas and words; and what is loose ground by it."""

import pytest

from tests.sheet.opened import opened
from tests.sheet.pages import paths
from tests.thorough import some
from traverse.log.ages import read_age
from traverse.log.records import RockUnit
from traverse.sheet.paper.page import Box
from traverse.sheet.section.strip import section_panel
from traverse.sheet.signs.colour import unit_styles
from traverse.source import Span

LOOSE = [
    "Quaternary",
    "Holocene",
    "Pleistocene",
    "QUATERNARY",
    "quaternary alluvium",
    "Quaternary?",
    "Q",
    "Q?",
    "upper Quaternary",
    "Pleistocene, terrace",
    "late Pleistocene",
    "Mid-Pleistocene",
    "Late Pleistocene to Holocene",
    "Pleistocene–Holocene",
    "Pleistocene/Holocene",
    "Holocene (wash)",
    "(Holocene)",
    "Recent",
    "Recent alluvium",
    "modern wash",
    "Late Pleistocene-Recent",
    "post-glacial",
    "Quaternary, undivided",
    "Quaternary gravel of the upper terrace",
    "Pleistocene over Jurassic shale",
    "Quarternary",
]
BEDROCK = [
    "Pliocene",
    "Plio-Pleistocene",
    "Plio–Quaternary",
    "Pliocene to Pleistocene",
    "late Pliocene - early Pleistocene",
    "Neogene and Quaternary",
    "Pleistocene or Pliocene",
    "Quaternary, possibly Neogene",
    "Cenozoic",
    "Tertiary",
    "pre-Quaternary",
    "older than Pleistocene",
    "Jurassic",
    "Cretaceous (Quaternary cover)",
    "Late Cretaceous, under Holocene gravel",
    "Permo-Triassic",
    "Recently named",
    "Quaternity beds",
    "Tollhouse age",
    "Qal",
    "",
    None,
]


def unit(age):
    return RockUnit(letters="A", name="A", age=age, colour=None, span=Span("day.trav", 1, 1, 5))


@pytest.mark.parametrize("age", LOOSE)
def test_a_deposit_wholly_of_the_quaternary_is_loose_ground(age):
    """Common practice, no source: deposits of the Quaternary are mapped as surface deposits."""
    assert unit(age).loose


@pytest.mark.parametrize("age", BEDROCK)
def test_what_began_before_the_quaternary_or_has_no_age_of_the_chart_is_not(age):
    assert not unit(age).loose


def test_ages_run_from_young_to_old():
    """Order of the International Chronostratigraphic Chart (International Commission on Stratigraphy), from memory."""
    names = (
        "Recent",
        "late Pleistocene",
        "Plio-Pleistocene",
        "Miocene",
        "Late Cretaceous",
        "Lower Cretaceous",
    )
    names += ("Triassic", "Permian?", "Upper Silurian", "Llandovery", "Cambro-Ordovician", "Precambrian")
    middles = [read_age(name).middle for name in names]
    assert middles == sorted(middles)
    assert len(set(middles)) == len(middles)


def test_the_first_name_is_the_one_that_colours_and_parts_are_those_before_it():
    age = read_age("middle Jurassic, upper Triassic at its base")
    assert (age.name, age.part) == ("jurassic", "middle")
    assert read_age("Lower to Middle Jurassic").part is None
    assert read_age("not dated; Devonian").name == "devonian"


LOG = """notation 1
traverse Hollow Beck
bearings true
attitudes dip-direction
unit Tg Terrace gravel ; {}
unit Sh Grey shale ; Jurassic
control 0 1000 E 1000 N 100 m
at 0
unit Sh
bed 090/40
to 1 090 100m level
along 60m
contact Tg/Sh certain
at 1
unit Tg
to 2 090 100m level
along 40m
contact Tg/Sh certain
at 2
unit Sh
bed 090/40
section A-A' from 0 to 2
"""


def drawn(found):
    box = Box(x=26.0, y=40.0, width=174.4, height=50.0)
    (section,) = found.geology.sections
    styles = unit_styles(found.log.units)
    items = section_panel(opened(section, found.trav), found.trav, box=box, scale=1000, styles=styles).items
    return [one.commands for one in paths(items)]


@pytest.mark.every(2)
@pytest.mark.parametrize("age", some(LOOSE, 5))
def test_a_terrace_on_shale_puts_no_contact_into_the_shale(compile_text, age):
    """The two edges of the gravel are no planes that go down, however its age is spelt."""
    found = compile_text(LOG.format(age))
    assert found.geology.caps == {"Tg"}
    (section,) = found.geology.sections
    assert not [line for line in section.construction.lines if line.pieces]
    assert drawn(found) == drawn(compile_text(LOG.format("Quaternary")))


def test_an_older_unit_in_its_stead_has_contacts_that_go_down(compile_text):
    found = compile_text(LOG.format("Plio-Pleistocene"))
    assert not found.geology.caps
    assert len([line for line in found.geology.sections[0].construction.lines if line.pieces]) == 2
