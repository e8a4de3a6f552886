"""A sheet gives back the log it was made from, and nothing it says can write outside the folder."""

import errno
import io
import os
import re

import pypdf
import pytest

from traverse.__main__ import main
from traverse.output.pdf import write_pdf
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.page import Page

LOG = (
    b"\xef\xbb\xbfnotation 1\r\nuse camp/units.trav\r\ntraverse Dale\r\nbearings grid\r\n"
    b"pace MO double 100 m in 65, 66, 66\r\nat 1\r\n  unit Ss\r\nto 2 047 64p\r\n"
)
UNITS = "notation 1\nunit Ss Grès Sandstone ; Triassic\n".encode()


@pytest.fixture
def sheet(tmp_path):
    (tmp_path / "camp").mkdir()
    (tmp_path / "camp" / "units.trav").write_bytes(UNITS)
    (tmp_path / "day.trav").write_bytes(LOG)
    assert main(["sheet", str(tmp_path / "day.trav")]) == 0
    return tmp_path / "day.pdf"


GRID = "# east north height\r\n" + "".join(
    f"{east} {north} {100 + east / 20:.2f}\r\n"
    for north in range(-100, 301, 20)
    for east in range(-100, 301, 20)
)


@pytest.fixture
def hill(tmp_path):
    (tmp_path / "heights").mkdir()
    (tmp_path / "heights" / "hill.xyz").write_bytes(GRID.encode())
    (tmp_path / "hill.trav").write_bytes(
        LOG.replace(b"use camp/units.trav\r\n", b"terrain heights/hill.xyz\r\n")
        .replace(b"  unit Ss\r\n", b"")
        .replace(b"at 1\r\n", b"control 1 0 E 0 N 100 m\r\nat 1\r\n")
    )
    return tmp_path / "hill.trav"


def test_the_heights_come_back_too(hill, tmp_path):
    assert main(["sheet", str(hill)]) == 0
    assert main(["extract", str(hill.with_suffix(".pdf")), "-o", str(tmp_path / "back")]) == 0
    assert (tmp_path / "back" / "heights" / "hill.xyz").read_bytes() == GRID.encode()
    assert main(["sheet", str(tmp_path / "back" / "hill.trav")]) == 0
    assert (tmp_path / "back" / "hill.pdf").read_bytes() == hill.with_suffix(".pdf").read_bytes()


def test_heights_too_large_to_be_carried_are_spoken_of(hill, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("traverse.command.sheet.MOST_CARRIED", 4096)
    assert main(["sheet", str(hill)]) == 0
    told = capsys.readouterr().err
    assert "heights/hill.xyz is over" in told
    assert "terrain heights/hill.xyz" in told
    assert main(["extract", str(hill.with_suffix(".pdf")), "-o", str(tmp_path / "back")]) == 0
    assert [one.name for one in (tmp_path / "back").rglob("*")] == ["hill.trav"]


def test_a_handout_carries_no_heights_and_says_nothing_of_them(hill, capsys):
    assert main(["sheet", str(hill), "--blank"]) == 0
    assert "carried" not in capsys.readouterr().err
    blank = hill.with_name("hill-blank.pdf").read_bytes()
    assert pypdf.PdfReader(io.BytesIO(blank)).attachments == {}
    assert b"hill.xyz" not in blank


def carrying(path, *files):
    page = Page(width_mm=20.0, height_mm=20.0, items=(), title="a")
    path.write_bytes(write_pdf(Document(pages=(page,), title="t", attachments=files)))
    return path


def test_log_and_used_files_come_back_byte_for_byte_and_make_the_same_sheet(sheet, tmp_path, capsys):
    out = tmp_path / "back"
    assert main(["extract", str(sheet), "-o", str(out)]) == 0
    assert (out / "day.trav").read_bytes() == LOG
    assert (out / "camp" / "units.trav").read_bytes() == UNITS
    assert str(out / "day.trav") in capsys.readouterr().out
    assert main(["sheet", str(out / "day.trav")]) == 0
    assert (out / "day.pdf").read_bytes() == sheet.read_bytes()


def test_nothing_that_differs_is_overwritten_without_being_asked(sheet, tmp_path, capsys):
    out = tmp_path / "day-log"
    out.mkdir()
    (out / "day.trav").write_text("my own", encoding="utf-8")
    assert main(["extract", str(sheet), "-o", str(out)]) == 2
    assert "--overwrite" in capsys.readouterr().err
    assert [one.name for one in out.iterdir()] == ["day.trav"]
    assert (out / "day.trav").read_text(encoding="utf-8") == "my own"
    assert main(["extract", str(sheet), "-o", str(out), "--overwrite"]) == 0
    assert (out / "day.trav").read_bytes() == LOG
    # What is there already and the same is no reason to stop.
    assert main(["extract", str(sheet), "-o", str(out)]) == 0


@pytest.mark.parametrize(
    "name", ["../out.trav", "/etc/out.trav", "..\\..\\out.trav", "a/../../out.trav", "~/x"]
)
def test_a_name_never_leads_out_of_the_folder(tmp_path, name):
    folder = tmp_path / "one" / "two"
    assert main(["extract", str(carrying(tmp_path / "x.pdf", (name, b"x"))), "-o", str(folder)]) == 0
    written = [one for one in tmp_path.rglob("*") if one.is_file() and one.suffix != ".pdf"]
    assert len(written) == 1
    assert written[0].is_relative_to(folder)


def test_a_link_in_the_folder_is_not_followed_out_of_it(tmp_path):
    (tmp_path / "away").mkdir()
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "camp").symlink_to(tmp_path / "away")
    sheet = carrying(tmp_path / "x.pdf", ("camp/a.trav", b"x"))
    assert main(["extract", str(sheet), "-o", str(tmp_path / "folder")]) == 2
    assert list((tmp_path / "away").iterdir()) == []


def test_a_link_under_the_name_of_the_folder_is_not_followed_out(tmp_path, capsys, monkeypatch):
    (tmp_path / "away").mkdir()
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    (tmp_path / "here" / "x-log").symlink_to(tmp_path / "away")
    carrying(tmp_path / "here" / "x.pdf", ("a.trav", b"x"))
    assert main(["extract", "x.pdf"]) == 2
    assert "x-log: a link leads out of" in capsys.readouterr().err
    assert list((tmp_path / "away").iterdir()) == []
    # Whoever names the link means where it leads.
    assert main(["extract", "x.pdf", "-o", "x-log"]) == 0
    assert (tmp_path / "away" / "a.trav").read_bytes() == b"x"


def test_two_names_that_become_one_are_refused(tmp_path, capsys):
    sheet = carrying(tmp_path / "x.pdf", ("a?.trav", b"x"), ("a.trav", b"y"))
    assert main(["extract", str(sheet), "-o", str(tmp_path / "f")]) == 2
    assert "two files" in capsys.readouterr().err
    assert not (tmp_path / "f").exists()


def encrypted():
    writer = pypdf.PdfWriter()
    writer.add_blank_page(20, 20)
    writer.encrypt("secret", algorithm="RC4-128")
    file = io.BytesIO()
    writer.write(file)
    return file.getvalue()


@pytest.mark.parametrize(
    "data", [b"", b"notation 1\n", b"%PDF-1.7\n%%EOF", b"%PDF-1.7\ntrailer<</Root 1 0 R>>", encrypted()]
)
def test_what_is_no_sheet_is_told_without_a_traceback(tmp_path, data, capsys):
    (tmp_path / "x.pdf").write_bytes(data)
    assert main(["extract", str(tmp_path / "x.pdf"), "-o", str(tmp_path / "f")]) == 2
    told = capsys.readouterr().err
    assert "x.pdf" in told
    assert "Traceback" not in told
    assert not (tmp_path / "f").exists()


def test_a_sheet_without_a_log_and_a_file_that_is_not_there(tmp_path, capsys):
    assert main(["extract", str(carrying(tmp_path / "x.pdf"))]) == 2
    assert "carries no log; give the PDF of a sheet" in capsys.readouterr().err
    assert main(["extract", str(tmp_path / "none.pdf")]) == 2


def test_drawings_alone_carry_nothing(sheet, tmp_path):
    assert main(["section", str(tmp_path / "day.trav"), "-o", str(tmp_path / "s.pdf")]) == 0
    assert main(["extract", str(tmp_path / "s.pdf"), "-o", str(tmp_path / "f")]) == 2


def test_a_damaged_log_is_refused_and_nothing_is_written(sheet, tmp_path, capsys):
    """The size stands, a digit differs: only the checksum tells (ISO 32000-1, 7.11.4)."""
    writer = pypdf.PdfWriter(clone_from=str(sheet))
    for one in writer.attachment_list:
        if one.name == "day.trav":
            one.content = LOG.replace(b"64p", b"46p")
    damaged = tmp_path / "damaged.pdf"
    writer.write(str(damaged))
    assert main(["extract", str(damaged), "-o", str(tmp_path / "back")]) == 2
    assert "day.trav in it is damaged, and nothing was written" in capsys.readouterr().err
    assert not (tmp_path / "back").exists()


def test_of_a_sheet_without_checksums_it_says_so(sheet, tmp_path, capsys):
    writer = pypdf.PdfWriter(clone_from=str(sheet))
    for one in writer.attachment_list:
        told = one.pdf_object.get_object()
        del told["/EF"]["/F"].get_object()["/Params"], told["/Desc"]
    old = tmp_path / "old.pdf"
    writer.write(str(old))
    assert main(["extract", str(old), "-o", str(tmp_path / "back")]) == 0
    assert (tmp_path / "back" / "day.trav").read_bytes() == LOG
    assert "can't be told from a whole one" in capsys.readouterr().err


def renamed(sheet, path, name, *, described=True):
    """The sheet with another name of its log in it."""
    writer = pypdf.PdfWriter(clone_from=str(sheet))
    for one in writer.attachment_list:
        if one.name == "day.trav":
            stream = one.pdf_object.get_object()
            for key in ("/F", "/UF"):
                stream[pypdf.generic.NameObject(key)] = pypdf.generic.TextStringObject(name)
            if not described:
                del stream["/Desc"]
    writer.write(str(path))
    return path


@pytest.mark.in_turn
@pytest.mark.parametrize("described", [True, False])
@pytest.mark.parametrize("name", ["day.trav\nendobj\x00 4 0 obj", "day" * 200])
def test_a_name_that_swallowed_bytes_of_the_pdf_is_refused(sheet, tmp_path, name, described, capsys):
    damaged = renamed(sheet, tmp_path / "damaged.pdf", name, described=described)
    assert main(["extract", str(damaged), "-o", str(tmp_path / "back")]) == 2
    told = capsys.readouterr().err
    assert "damaged" in told
    assert told.count("\n") == 1
    assert len(told) < 1000
    assert not (tmp_path / "back").exists()


@pytest.mark.parametrize("described", [True, False])
def test_a_name_that_is_another_is_refused(sheet, tmp_path, capsys, described):
    damaged = renamed(sheet, tmp_path / "damaged.pdf", "dax.trav", described=described)
    assert main(["extract", str(damaged), "-o", str(tmp_path / "back")]) == 2
    assert "dax.trav in it is damaged" in capsys.readouterr().err


def refused(data, tmp_path, capsys):
    (tmp_path / "damaged.pdf").write_bytes(data)
    status = main(["extract", str(tmp_path / "damaged.pdf"), "-o", str(tmp_path / "back")])
    return status == 2 and "damaged" in capsys.readouterr().err and not (tmp_path / "back").exists()


def test_files_of_a_sheet_that_are_exchanged_or_missing_are_told(hill, tmp_path, capsys):
    """Each has a right checksum; only together do they say whose it is, and how many there are."""
    assert main(["sheet", str(hill), "-o", str(tmp_path / "hill.pdf")]) == 0
    capsys.readouterr()
    whole = (tmp_path / "hill.pdf").read_bytes()
    first, second = re.findall(rb"/EF <<\s*/F (\d+) 0 R", whole)
    for one, other in ((first, second), (second, first)):
        swapped = re.sub(rb"(/EF <<\s*/F )" + one + rb"\b", rb"\g<1>" + other, whole)
        assert swapped != whole
        assert refused(swapped, tmp_path, capsys)
    (names,) = re.findall(rb"/Names \[[^]]*\]", whole)
    for number in re.findall(rb"(\d+) 0 R", names):
        lost = whole.replace(names, re.sub(rb"\b" + number + rb" 0 R", b"1 0 R", names))
        assert refused(lost, tmp_path, capsys)


def test_no_other_stream_of_a_sheet_is_given_for_its_log(sheet, tmp_path, capsys):
    """A font or a profile of colours has no checksum, and was written with a warning."""
    whole = sheet.read_bytes()
    own = re.findall(rb"/EF <<\s*/F (\d+) 0 R", whole)
    reader = pypdf.PdfReader(io.BytesIO(whole))
    every = {int(one) for one in re.findall(rb"(?m)^(\d+) 0 obj", whole)} - {int(one) for one in own}
    others = [n for n in every if isinstance(reader.get_object(n), pypdf.generic.StreamObject)]
    assert len(others) > 5
    for other in others[::5]:
        moved = re.sub(rb"(/EF <<\s*/F )" + own[0] + rb"\b", rb"\g<1>%d" % other, whole)
        assert refused(moved, tmp_path, capsys), other


def test_a_damaged_sheet_is_told_in_our_words_alone(sheet, tmp_path, capfd):
    """The table of objects points elsewhere: the library mends that as it can, and says so at length."""
    data = sheet.read_bytes()
    at = data.rindex(b"startxref")
    (tmp_path / "x.pdf").write_bytes(data[:at] + b"startxref\n7\n%%EOF")
    status = main(["extract", str(tmp_path / "x.pdf"), "-o", str(tmp_path / "f")])
    told = capfd.readouterr().err
    assert status in {0, 1, 2}
    assert all(line.startswith(("traverse: ", str(tmp_path))) for line in told.splitlines())


def test_a_log_that_is_all_a_sheet_carries_goes_to_standard_output(tmp_path, capfdbinary):
    (tmp_path / "day.trav").write_bytes(b"notation 1\nbearings true\nat 1\nto 2 090 50m\n")
    assert main(["sheet", str(tmp_path / "day.trav"), "-o", str(tmp_path / "day.pdf")]) == 0
    capfdbinary.readouterr()
    assert main(["extract", str(tmp_path / "day.pdf"), "-o", "-"]) == 0
    assert capfdbinary.readouterr().out == (tmp_path / "day.trav").read_bytes()


def test_of_two_files_none_goes_to_standard_output_and_no_folder_is_made(hill, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["sheet", str(hill), "-o", "hill.pdf"]) == 0
    capsys.readouterr()
    assert main(["extract", "hill.pdf", "-o", "-"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "carries 2 files" in told.err
    assert not (tmp_path / "-").exists()


@pytest.mark.parametrize("part", [b"/Names", b"/EmbeddedFiles"])
def test_a_sheet_that_no_longer_finds_its_log_is_told_from_one_without(sheet, tmp_path, capsys, part):
    """It was said to carry none, and the log looked for elsewhere."""
    whole = sheet.read_bytes()
    assert part in whole
    damaged = tmp_path / "damaged.pdf"
    damaged.write_bytes(whole.replace(part, b"/X" + part[2:]))
    assert main(["extract", str(damaged), "-o", str(tmp_path / "out")]) == 2
    assert "is damaged: a file was put into it" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("stated", [True, False])
def test_what_a_sheet_would_give_is_limited_as_a_whole(tmp_path, monkeypatch, capsys, stated):
    """Each file alone is small enough; whether it says how large it is makes no difference."""
    monkeypatch.setattr("traverse.command.extract._MOST_OUT", 90_000)
    for count, status in ((3, 0), (4, 2)):
        sheet, out = tmp_path / f"{count}.pdf", tmp_path / f"out-{count}"
        carrying(sheet, *((f"{i}.trav", bytes([65 + i]) * 25_000) for i in range(count)))
        if not stated:
            writer = pypdf.PdfWriter(clone_from=str(sheet))
            for one in writer.attachment_list:
                del one.pdf_object.get_object()["/EF"]["/F"].get_object()["/Params"]
                del one.pdf_object.get_object()["/Desc"]
            writer.write(str(sheet))
        assert sheet.stat().st_size < 10_000
        assert main(["extract", str(sheet), "-o", str(out)]) == status
        assert out.exists() == (status == 0)
    assert "would give more than" in capsys.readouterr().err


def test_a_sheet_that_somebody_locked_is_told_so(tmp_path, capsys):
    """Against other things than reading it is read."""
    for password, status in (("word", 2), ("", 0)):
        locked = pypdf.PdfWriter()
        locked.add_blank_page(100, 100)
        locked.add_attachment("day.trav", LOG)
        locked.encrypt(password, "leader", algorithm="RC4-128")
        locked.write(tmp_path / "day.pdf")
        assert main(["extract", str(tmp_path / "day.pdf"), "-o", str(tmp_path / "out")]) == status
        assert ("is locked with a password" in capsys.readouterr().err) is bool(password)


def test_no_empty_folder_is_left_where_the_disk_is_full(sheet, tmp_path, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("traverse.command.files._write", full)
    assert main(["extract", str(sheet), "-o", str(tmp_path / "far" / "out")]) == 2
    assert not (tmp_path / "far").exists()
