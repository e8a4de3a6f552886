"""`traverse section`, `traverse net` and the endings of `traverse sheet -o`."""

import re
import shutil
from pathlib import Path

import pypdf
import pytest

from tests.thorough import some
from traverse.__main__ import main

SAMPLES = Path(__file__).parents[2] / "samples"
STARTS = {"pdf": b"%PDF-1.7", "svg": b"<?xml version", "png": b"\x89PNG"}
POOR = "notation 1\ntraverse Nowhere\nbearings grid\npace MO double 100 m in 65, 66, 66\nat 1\n"


@pytest.fixture
def day(tmp_path):
    shutil.copy(SAMPLES / "oskerra-valley" / "oskerra-valley.trav", tmp_path / "day.trav")
    shutil.copy(SAMPLES / "oskerra-valley" / "oskerra-valley.xyz", tmp_path)
    return tmp_path / "day.trav"


@pytest.mark.in_turn
@pytest.mark.parametrize("command", ["sheet", "section", "net"])
@pytest.mark.parametrize("kind", STARTS)
def test_the_ending_says_what_is_written(day, command, kind):
    out = day.with_name(f"out.{kind}")
    assert main([command, str(day), "-o", str(out)]) == 0
    assert out.read_bytes().startswith(STARTS[kind])


@pytest.mark.every(2)
@pytest.mark.parametrize("command", ["section", "net"])
def test_without_a_name_it_lies_beside_the_log_and_leaves_the_sheet_alone(day, command):
    day.with_suffix(".pdf").write_bytes(b"the sheet")
    assert main([command, str(day)]) == 0
    assert day.with_name(f"day-{command}.pdf").read_bytes().startswith(b"%PDF")
    assert day.with_suffix(".pdf").read_bytes() == b"the sheet"


BESIDE = [
    (["sheet"], "day.pdf"),
    (["sheet", "--blank"], "day-blank.pdf"),
    (["net"], "day-net.pdf"),
    (["form"], "day-page.pdf"),
]
"""What is written beside the log under a name of its own."""


@pytest.mark.parametrize(("call", "name"), BESIDE)
def test_a_scan_beside_the_log_is_not_replaced_unasked(day, call, name, capsys):
    scan = day.with_name(name)
    scan.write_bytes(b"%PDF-1.4\n% the notebook's page\n")
    assert main([call[0], str(day), *call[1:]]) == 2
    assert f"{name}: is there already, and not from this program" in capsys.readouterr().err
    assert scan.read_bytes().endswith(b"page\n")


@pytest.mark.parametrize(("call", "name"), some(BESIDE, BESIDE[2:]))
def test_a_scan_that_is_named_is_replaced_and_so_is_a_page_of_ours(day, call, name):
    scan = day.with_name(name)
    scan.write_bytes(b"%PDF-1.4\n% the notebook's page\n")
    command = [call[0], str(day), *call[1:]]
    assert main([*command, "-o", str(scan)]) == 0
    assert scan.read_bytes().startswith(STARTS["pdf"])
    assert main(command) == 0


@pytest.mark.parametrize("command", ["sheet", "section", "net"])
@pytest.mark.parametrize("name", ["out.jpg", "day.trav", "out.docx"])
def test_another_ending_is_wrong_use_and_nothing_is_written(day, command, name, capsys):
    before = sorted(day.parent.iterdir()), day.read_bytes()
    assert main([command, str(day), "-o", str(day.with_name(name))]) == 2
    assert ".svg" in capsys.readouterr().err
    assert (sorted(day.parent.iterdir()), day.read_bytes()) == before


@pytest.mark.parametrize(("command", "why"), [("section", "line of section"), ("net", "no bedding")])
def test_where_there_is_nothing_to_draw_it_says_so(tmp_path, command, why, capsys):
    log = tmp_path / "poor.trav"
    log.write_text(POOR, encoding="utf-8")
    assert main([command, str(log)]) == 1
    assert why in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == [log]


@pytest.mark.thorough
def test_a_section_is_constructed_by_arcs_where_that_is_asked(day):
    out = day.with_name("s.svg")
    assert main(["section", str(day), "-o", str(out)]) == 0
    assert "(dip domains)" in words(out)
    assert main(["section", str(day), "--arcs", "-o", str(out)]) == 0
    assert "arcs of constant thickness" in words(out)


def words(svg):
    """Its texts, one after the other: a note may stand in several lines."""
    return " ".join(re.findall(r">([^<]*)</text>", svg.read_text(encoding="utf-8")))


@pytest.mark.thorough
def test_a_section_is_no_longer_than_a_roll_of_paper(tmp_path, capsys):
    log = tmp_path / "long.trav"
    log.write_text(
        "notation 1\nbearings true\nattitudes dip-right\nsheet scale 1:1\nunit Aa Upper ;\nunit Bb Lower ;\n"
        "at 1\nunit Aa\nbed 350/30\nto 2 090 300m +5\nalong 31m\ncontact Aa/Bb certain\nat 2\nunit Bb\n"
        "section A-A' from 1 to 2\n"
    )
    assert main(["section", str(log)]) == 0
    # 299 m are 1.5 m of paper; at 1:100 they are longer than a roll is drawn.
    assert "it is drawn at 1:200" in capsys.readouterr().err
    page = pypdf.PdfReader(str(log.with_name("long-section.pdf"))).pages[0]
    assert float(page.mediabox.width) <= 14_400
