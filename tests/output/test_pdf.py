"""The PDF: text where it was put, layers, metadata, fonts, and the same bytes every time."""

import io
import os
import subprocess
import sys
from pathlib import Path as File

import pypdf
import pypdfium2
import pytest

from traverse.output.pdf import write_pdf
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.page import (
    Anchor,
    Box,
    Face,
    Group,
    Page,
    Path,
    Pen,
    Text,
    Tile,
    circle,
    polyline,
    rectangle,
)

POINT = 72.0 / 25.4
ROOT = File(__file__).parents[2]
SAMPLE = ROOT / "samples" / "ternel-point" / "ternel-point.trav"


def document(*items, pages=1, **more):
    page = Page(width_mm=210.0, height_mm=297.0, items=items, title="Map (1)")
    return Document(pages=(page,) * pages, title="Dale <b>", **more)


def reader(found):
    return pypdf.PdfReader(io.BytesIO(write_pdf(found)))


def words(data):
    """Words of the first page with the left and lower edge of the first letter, in millimetres."""
    page = pypdfium2.PdfDocument(data)[0].get_textpage()
    text = page.get_text_range()
    left, lower, _, _ = page.get_charbox(0)
    return text, left / POINT, lower / POINT


def pixels(data):
    """The first page in grey, one pixel a millimetre and some."""
    return pypdfium2.PdfDocument(data)[0].render(scale=1.0, grayscale=True).to_numpy()


@pytest.mark.parametrize(("anchor", "shift"), [(Anchor.START, 0.0), (Anchor.MIDDLE, 0.5), (Anchor.END, 1.0)])
def test_text_is_extracted_where_it_was_put(anchor, shift):
    """At 72 pt the six figures are 6 x 0.497 em of 25.4 mm wide."""
    data = write_pdf(document(Text(at=(100.0, 200.0), text="142690", size_pt=72.0, anchor=anchor)))
    text, left, lower = words(data)
    assert text.strip() == "142690"
    assert left == pytest.approx(100.0 - shift * 6 * 0.497 * 25.4, abs=2.5)
    assert lower == pytest.approx(200.0, abs=0.6)


@pytest.mark.parametrize(
    "text", ["<b>&\"'", "(a) \\ %", "68° → 232°", "Żółć αβγ Жук ⚠", "%PDF-1.4 endstream"]
)
def test_user_text_is_text_and_never_markup(text):
    """Every face, and the fallback in the midst of a line."""
    data = write_pdf(document(Text(at=(20.0, 200.0), text=text, face=Face.ITALIC)))
    assert pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range().strip() == text


def test_a_turned_text_runs_up_the_page():
    data = write_pdf(document(Text(at=(50.0, 100.0), text="up we go", turn_deg=90.0)))
    page = pypdfium2.PdfDocument(data)[0].get_textpage()
    first, last = page.get_charbox(0), page.get_charbox(page.count_chars() - 1)
    assert last[1] > first[3]
    assert abs(last[0] - first[0]) < 3.0


def test_lines_and_fills_are_where_they_were_put():
    box = Box(x=50.0, y=100.0, width=40.0, height=30.0)
    grey = pixels(write_pdf(document(Path(commands=rectangle(box), fill="#000000"))))
    rows, columns = (grey < 128).nonzero()
    assert columns.min() / POINT == pytest.approx(50.0, abs=0.4)
    assert columns.max() / POINT == pytest.approx(90.0, abs=0.4)
    assert (grey.shape[0] - rows.max()) / POINT == pytest.approx(100.0, abs=0.4)


def test_holes_stay_open_and_clips_hold():
    hole = Path(commands=(*circle((100, 100), 30.0), *circle((100, 100), 10.0)), fill="#000000")
    grey = pixels(write_pdf(document(hole)))
    assert grey[round((297 - 100) * POINT), round(100 * POINT)] > 250
    assert grey[round((297 - 100) * POINT), round(120 * POINT)] < 5
    clipped = Group(
        items=(Path(commands=rectangle(Box(x=0, y=0, width=200, height=200)), fill="#000000"),),
        clip=rectangle(Box(x=50, y=50, width=20, height=20)),
    )
    after = Path(commands=polyline([(150, 150), (190, 150)]), pen=Pen(width_mm=2.0))
    grey = pixels(write_pdf(document(clipped, after)))
    assert grey[round((297 - 60) * POINT), round(60 * POINT)] < 5
    assert grey[round((297 - 100) * POINT), round(100 * POINT)] > 250
    assert grey[round((297 - 150) * POINT), round(170 * POINT)] < 5


def test_a_pattern_fills_with_its_strokes_and_dots():
    tile = Tile(
        name="t",
        width_mm=5.0,
        height_mm=5.0,
        commands=(("M", 0, 2.5), ("L", 5, 2.5)),
        dots=((2.5, 1.0, 0.6),),
    )
    grey = pixels(
        write_pdf(document(Path(commands=rectangle(Box(x=50, y=50, width=50, height=50)), fill=tile)))
    )
    inside = grey[
        round((297 - 100) * POINT) : round((297 - 50) * POINT), round(50 * POINT) : round(100 * POINT)
    ]
    assert 0.02 < (inside < 200).mean() < 0.4
    assert (grey[: round((297 - 102) * POINT)] == 255).all()


def test_layers_are_named_once_and_a_reader_can_hide_them():
    layered = (
        Group(items=(), layer="contacts"),
        Group(items=(), layer="labels"),
        Group(items=(), layer="contacts"),
    )
    catalog = reader(document(*layered)).trailer["/Root"]
    names = [one.get_object()["/Name"] for one in catalog["/OCProperties"]["/OCGs"]]
    assert names == ["contacts", "labels"]


def test_metadata_says_what_it_is_and_nothing_of_the_machine():
    found = reader(document(authors=("Mara Okafor", "<LB>"), subject="Traverse sheet"))
    assert found.metadata.title == "Dale <b>"
    assert found.metadata.author == "Mara Okafor, <LB>"
    assert found.trailer["/Root"]["/Lang"] == "en"
    assert [one.title for one in found.outline] == ["Map (1)"]
    assert found.metadata.creation_date.year == 2000


def test_only_the_family_is_in_the_file_and_it_is_embedded():
    found = reader(document(Text(at=(20, 20), text="a"), Text(at=(20, 30), text="b", face=Face.BOLD)))
    fonts = [one.get_object() for one in found.pages[0]["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        assert "SourceSansPro" in font["/BaseFont"]
        assert "/FontFile2" in font["/FontDescriptor"]


def test_files_are_carried_along():
    found = reader(document(attachments=(("day.trav", b"notation 1\n"),)))
    assert found.attachments["day.trav"] == [b"notation 1\n"]


def test_a_page_of_another_size_keeps_it():
    pages = (
        Page(width_mm=210.0, height_mm=297.0, items=(), title="a"),
        Page(width_mm=420.0, height_mm=297.0, items=(), title="b"),
    )
    found = reader(Document(pages=pages, title="t"))
    assert [round(float(page.mediabox.width) / POINT) for page in found.pages] == [210, 420]


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_number_that_is_none_is_refused(bad):
    with pytest.raises((ValueError, OverflowError)):
        write_pdf(document(Path(commands=(("M", 0.0, 0.0), ("L", bad, 1.0)), pen=Pen(width_mm=1.0))))


def test_the_same_log_gives_the_same_bytes_in_another_process(tmp_path):
    """Also under another seed of Python's hashes, in another folder and zone of time, by another path and name."""
    log, elsewhere = tmp_path / "gull.trav", tmp_path / "b"
    elsewhere.mkdir()
    for path in (log, elsewhere / log.name):
        path.write_bytes(SAMPLE.read_bytes())
    for call, folder, own in (
        ([str(log)], tmp_path, {"PYTHONHASHSEED": "1"}),
        (["gull.trav", "-o", "x.pdf"], elsewhere, {"PYTHONHASHSEED": "2", "TZ": "Asia/Tokyo"}),
    ):
        subprocess.run(
            [sys.executable, "-m", "traverse", "sheet", *call],
            check=True,
            capture_output=True,
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(ROOT), **own},
        )
    assert log.with_suffix(".pdf").read_bytes() == (elsewhere / "x.pdf").read_bytes()
