"""The picture of two versions: both walks, what was changed in words, the cautions."""

import pytest
from pypdf import PdfReader

from tests.difference.test_between import LOG, difference, version
from traverse.__main__ import main
from traverse.sheet.compose.versions_page import versions_document
from traverse.sheet.paper.page import Path, Text
from traverse.sheet.paper.style import PENS


def page_of(was, now):
    found = difference(was, now)
    return versions_document(found, version(now).compiled.trav)


def legs_of(page, pen):
    """Ends of the lines with a pen, without rules over the width of the page."""
    lines = [item.commands for item in page.items if isinstance(item, Path) and item.pen == PENS[pen]]
    ends = [(first[1:3], last[1:3]) for first, last in (line[:2] for line in lines)]
    return [(first, last) for first, last in ends if first[1] != last[1] or abs(first[0] - last[0]) < 150.0]


def words_of(document):
    return [[item.text for item in page.items if isinstance(item, Text)] for page in document.pages]


def test_it_shows_both_walks_and_says_what_was_changed():
    was = LOG.replace("138 52p", "138 32p") + "\nat 2\nto 9 090 20p\n"
    now = LOG + "\nat 2\nto 8 000 25p\n"
    (page,) = page_of(was, now).pages
    # One more than the legs is the line of the key.
    assert len(legs_of(page, "raw figure")) == len(legs_of(page, "adjusted figure")) == 4 + 1
    words = [item.text for item in page.items if isinstance(item, Text)]
    assert {"1", "2", "3", "8, new", "9, gone"} <= set(words)
    assert any("leg 2–3: 138 52p -2, was 138 32p -2" in one for one in words)


def test_it_is_true_to_its_scale():
    (page,) = page_of(LOG, LOG.replace("4.7 E", "9.7 E")).pages
    ratio = next(item.text for item in page.items if isinstance(item, Text) and item.text.startswith("1:"))
    scale = int(ratio[2:].replace("\xa0", ""))
    found = difference(LOG, LOG.replace("4.7 E", "9.7 E"))
    places = {name: (east, north) for name, east, north in found.walks[1].places}
    (x, y), (u, v) = legs_of(page, "adjusted figure")[0]
    long_m = ((places["2"][0] - places["1"][0]) ** 2 + (places["2"][1] - places["1"][1]) ** 2) ** 0.5
    assert ((u - x) ** 2 + (v - y) ** 2) ** 0.5 * scale / 1000.0 == pytest.approx(long_m, abs=0.05)


def test_cautions_stand_on_every_page_however_much_was_changed():
    legs = "".join(f"to {n}  {n % 360:03d} 50p\n  note old {n}\n" for n in range(10, 150))
    was = LOG.split("at 1\n")[0] + "at 9\n" + legs
    document = page_of(was, was.replace("note old", "note another"))
    pages = words_of(document)
    assert len(pages) > 1
    for words in pages:
        assert any(one.startswith("Compass-and-pace sketch map. Not a land survey") for one in words)
    assert any("more, which the terminal tells" in one for one in pages[-1])


def test_a_walk_that_was_not_adjusted_is_stamped_so():
    (words,) = words_of(page_of(LOG, LOG.replace("138 52p", "138 25p")))
    assert any("NOT ADJUSTED" in one for one in words)
    (words,) = words_of(page_of(LOG.replace("138 52p", "138 25p"), LOG))
    assert not any("NOT ADJUSTED" in one for one in words)


@pytest.mark.parametrize("ending", ["pdf", "svg", "png"])
def test_it_is_written_as_its_name_ends(tmp_path, monkeypatch, ending):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.trav").write_text(LOG, encoding="utf-8")
    (tmp_path / "b.trav").write_text(LOG.replace("138 52p", "138 50p"), encoding="utf-8")
    assert main(["diff", "a.trav", "b.trav", "-o", f"d.{ending}"]) == 0
    made = tmp_path / f"d.{ending}"
    if ending == "pdf":
        text = PdfReader(made).pages[0].extract_text()
        assert "not for boundaries, engineering" in text
    assert made.stat().st_size > 1000


@pytest.mark.parametrize(
    ("was", "now", "why"),
    [
        ("N47E", "N95E", "one has errors"),
        (
            "bearings",
            "grid EPSG:25833\ncontrol 1 400000 E 5200000 N 700 m\nbearings",
            "the two lie in grids that have nothing in common",
        ),
    ],
)
def test_what_cannot_be_drawn_over_each_other_is_said(tmp_path, monkeypatch, capsys, was, now, why):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.trav").write_text(LOG, encoding="utf-8")
    (tmp_path / "b.trav").write_text(LOG.replace(was, now, 1), encoding="utf-8")
    assert main(["diff", "a.trav", "b.trav", "-o", "d.pdf"]) == 1
    assert f"{why}; no drawing made" in capsys.readouterr().err
    assert not (tmp_path / "d.pdf").exists()


@pytest.mark.parametrize("swapped", [False, True])
@pytest.mark.parametrize("line", ["use part.svg", "log part.svg as B"])
def test_what_either_log_names_is_not_drawn_over(tmp_path, monkeypatch, capsys, line, swapped):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.trav").write_text(LOG)
    text = "notation 1\ntraverse Two\nlog a.trav as A\n" if line.startswith("log") else LOG
    heading, rest = text.split("\n", 1)
    whole = f"{text}{line}\n" if line.startswith("log") else f"{heading}\n{line}\n{rest}"
    (tmp_path / "b.trav").write_text(whole)
    part = LOG if line.startswith("log") else "notation 1\nunit Zz Zircon sand ; Eocene\n"
    (tmp_path / "part.svg").write_text(part)
    names = ["b.trav", "a.trav"] if swapped else ["a.trav", "b.trav"]
    assert main(["diff", *names, "-o", "part.svg"]) == 2
    found = capsys.readouterr()
    assert "part.svg: is what the log was read from; give it another name" in found.err
    assert (tmp_path / "part.svg").read_text() == part
