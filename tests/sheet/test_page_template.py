"""Templates: the one that ships, one of the user's own, and what is said of one that is wrong."""

import pytest

from traverse.resources import data
from traverse.sheet.template import read_template


def test_the_template_that_ships_has_the_papers_of_the_manual():
    found = read_template("field")
    assert not found.diagnostics
    assert set(found.value.papers) == {"A4", "Letter", "A3", "Tabloid"}
    assert found.value.paper_named("letter") == "Letter"
    assert found.value.paper_named("B7") is None


def test_an_unknown_name_is_an_error_that_lists_those_there_are():
    found = read_template("feild")
    assert found.value is None
    assert "field" in found.diagnostics[0].hints[0]


def test_a_template_of_the_user_s_own_is_read(tmp_path):
    text = (
        data("templates", "field.toml").read_text(encoding="utf-8").replace("margin = 10.0", "margin = 15.0")
    )
    path = tmp_path / "wide.toml"
    path.write_text(text, encoding="utf-8")
    assert read_template(str(path)).value.margin == 15.0


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("margin = 10.0", "margin = -3", "margin"),
        ("margin = 10.0", "margin = 'wide'", "margin"),
        ("margin = 10.0", "margin = 120.0", "margin"),
        ("gap = 5.0", "", "gap"),
        ('paper = "A4"', 'paper = "A5"', "paper"),
        ("A4 = [210.0, 297.0]", "A4 = [210.0]", "papers.A4"),
        ("[papers]", "[papers", "TOML"),
        ("columns = [61.0, 69.0, 55.9]", "columns = 3", "portrait.columns"),
    ],
)
def test_a_wrong_template_is_an_error_that_names_the_place(tmp_path, old, new, said):
    text = data("templates", "field.toml").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "mine.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    found = read_template(str(path))
    assert found.value is None
    assert said in found.diagnostics[0].message


def test_a_file_that_is_not_there_or_no_text_is_an_error(tmp_path):
    assert read_template(str(tmp_path / "none.toml")).value is None
    path = tmp_path / "bytes.toml"
    path.write_bytes(b"\xff\xfe\x00")
    assert read_template(str(path)).value is None
