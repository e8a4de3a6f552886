"""The samples, each spoilt as a tired typist would: the report leads to the line that was spoilt."""

from pathlib import Path

import pytest

from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log

SAMPLES = Path(__file__).parent.parent.parent / "samples"
WASH, VALLEY, POINT = "copperjar-wash", "oskerra-valley", "ternel-point"
# Sample, line as it stands, as it was typed, and what should be named; None where fore and back tell it.
DAMAGE = {
    "a hundred paces too many": (WASH, "to 4  S65E 44p -2", "to 4  S65E 144p -2", "100 paces too many"),
    "E for W": (WASH, "to 7  N82 1/2W 41 1/2p +3 back S83E", "to 7  N82 1/2E 41 1/2p +3", "E and W exchanged"),
    "N for S": (WASH, "to 6  S11W 43p -2 back N10E", "to 6  N11W 43p -2", "N and S exchanged"),
    "fore and back that don't agree": (WASH, "to 5  S45E 47p", "to 5  S54E 47p", None),
    "read at the wrong end": (VALLEY, "to 10  121 54p +13 back 300", "to 10  301 54p +13", "bearing reversed"),
    "the back bearing twice": (VALLEY, "to 10  121 54p +13 back 300", "to 10  300 54p +13 back 300", None),
    "metres for paces": (VALLEY, "to 10  121 54p", "to 10  121 54m", "paces taken for metres"),
    "digits of a count": (VALLEY, "to 12  248 69p", "to 12  248 96p", "digits of the paces exchanged"),
    "another station": (VALLEY, "close 1  327 41p", "close 11  327 41p", "closed on the wrong station"),
    "a lost sign": (VALLEY, "to 12  248 69p -15", "to 12  248 69p +15", "sign of the slope lost"),
    "per cent for degrees": (VALLEY, "to 12  248 69p -15", "to 12  248 69p -27", "per cent taken for degrees"),
    "feet for metres": (POINT, "to 3  214 48m -1", "to 3  214 157.5m -1", "feet taken for metres"),
    "a hundred degrees": (POINT, "to 2  102 61m -2", "to 2  002 61m -2", "bearing 100 degrees too small"),
}  # fmt: skip


def survey(sample, old="", new=""):
    path = SAMPLES / sample / f"{sample}.trav"
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1 or not old
    reading = read_log(Source(name=path.name, text=text.replace(old, new)), load=lambda _: None)
    line = text[: text.index(old)].count("\n") + 1
    return survey_log(reading.value.log), line


@pytest.mark.parametrize("sample", [WASH, VALLEY, POINT])
def test_a_sample_as_it_stands_accuses_nobody(sample):
    outcome, _ = survey(sample)
    assert outcome.value.suspects == ()
    assert not [one for one in outcome.diagnostics if one.code in {"fore-back", "fore-back-reversed"}]


@pytest.mark.parametrize("name", DAMAGE)
def test_the_report_leads_to_the_line(name):
    sample, old, new, slip = DAMAGE[name]
    outcome, line = survey(sample, old, new)
    if slip is None:
        told = [one.span.line for one in outcome.diagnostics if one.code.startswith("fore-back")]
        assert told == [line]
        return
    found = [(one.span.line, one.slip) for one in outcome.value.suspects]
    assert (line, slip) in found
    assert line in [one for one, _ in found[:3]]
