"""What the README shows is true: its logs compile, its commands exist, its picture is there."""

import re
import shlex
import shutil
import tomllib
from pathlib import Path

import pytest

from tests.notation.test_camp import PARTIES, A, camp
from traverse.__main__ import main
from traverse.command.line import parser
from traverse.diagnostic import Severity
from traverse.output.json_file import as_json
from traverse.sheet.template.reading import known_templates, read_template

ROOT = Path(__file__).parent.parent
PAGES = (
    "README.md",
    "templates/README.md",
    "grammar/data.md",
    "grammar/surprises.md",
    "grammar/comparing.md",
    "grammar/versions.md",
    "grammar/python.md",
    "grammar/growing.md",
    "grammar/season.md",
)


def text_of(page):
    return (ROOT / page).read_text(encoding="utf-8")


README = text_of("README.md")


def blocks(language, page="README.md"):
    fenced = re.findall(r"^```([\w-]*)\n(.*?)^```$", text_of(page), flags=re.MULTILINE | re.DOTALL)
    return [text for name, text in fenced if name == language]


def commands(page):
    """Lines that call the program, alone or at the end of others."""
    lines = [line for block in blocks("sh", page) for line in block.splitlines()]
    return [line.rpartition("&& ")[2] for line in lines if "traverse " in line.rpartition("&& ")[2]]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with the log of the README in it, a party's beside it, and the samples."""
    (log,) = blocks("trav")
    (tmp_path / "tarn.trav").write_text(log, encoding="utf-8")
    (tmp_path / "party-a.trav").write_text(log.replace("N47E 64p", "N47E 74p"), encoding="utf-8")
    (tmp_path / "valley").mkdir()
    (camp_file,) = blocks("trav-camp")
    for name, text in {"camp.trav": camp_file, **PARTIES, "party-c.trav": A.replace("S1", "S3")}.items():
        (tmp_path / "valley" / name).write_text(text, encoding="utf-8")
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_it_opens_with_one_paragraph_that_states_the_job():
    title, paragraph, picture, limits, *_ = README.split("\n\n")
    assert title == "# traverse"
    first = paragraph.partition(". ")[0]
    assert all(who in first for who in ("Geologists", "students", "leader"))
    assert "map sheet" in paragraph
    assert picture.startswith("![")
    assert "not a land survey" in limits


@pytest.mark.parametrize("text", blocks("trav"))
def test_every_log_in_it_compiles_without_a_warning(compile_text, text):
    compiled = compile_text(text)
    assert [one.message for one in compiled.diagnostics if one.kind == "warning"] == []
    assert compiled.survey.closures[0].adjusted


@pytest.mark.parametrize("call", dict.fromkeys(line for page in PAGES for line in commands(page)))
def test_every_command_on_its_pages_does_what_it_is_shown_for(folder, call):
    before = set(folder.rglob("*"))
    assert main(shlex.split(call)[1:]) == 0
    made = set(folder.rglob("*")) - before
    assert made or any(f" {told} " in call for told in ("check", "compare", "diff"))


def test_the_good_check_it_shows_is_the_whole_of_what_is_said(folder, capsys):
    assert main(["check", "tarn.trav"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert said.out.rstrip() == blocks("text")[0].rstrip()


def test_the_difference_it_shows_is_the_whole_of_what_is_said(folder, capsys):
    assert main(["diff", "party-a.trav", "tarn.trav"]) == 0
    assert capsys.readouterr().out.rstrip() == blocks("text", "grammar/versions.md")[0].rstrip()


def test_a_log_of_a_later_notation_is_answered_as_the_page_shows(folder, capsys):
    (text,) = blocks("trav-later", "grammar/growing.md")
    (folder / "later.trav").write_text(text, encoding="utf-8")
    assert main(["check", "later.trav"]) == 1
    assert capsys.readouterr().err.rstrip() == blocks("text", "grammar/growing.md")[0].rstrip()


def test_the_slip_it_shows_is_told_as_it_shows_it(folder, capsys):
    log = folder / "tarn.trav"
    log.write_text(log.read_text(encoding="utf-8").replace("N47E 64p", "N95E 64p"), encoding="utf-8")
    assert main(["check", "tarn.trav"]) == 1
    assert blocks("text")[1].strip() in capsys.readouterr().err


def test_the_answer_it_shows_is_taken(compile_text):
    (log,) = blocks("trav")
    (part,) = blocks("trav-part")
    compiled = compile_text(log.replace("back 228", "back 238\n" + part))
    assert [one.answer.who for one in compiled.diagnostics if one.kind == "answered"] == ["MO"]


def test_the_camp_file_it_shows_compiles():
    (text,) = blocks("trav-camp")
    outcome = camp(text, {**PARTIES, "party-c.trav": A.replace("S1", "S3")})
    assert [one for one in outcome.diagnostics if one.severity is Severity.ERROR] == []
    assert outcome.value.log.party_letters == ("A", "B", "C")


def test_every_command_and_option_stands_in_it():
    commands = next(action for action in parser()._actions if action.dest == "command")
    for name, command in commands.choices.items():
        row = next(line for line in README.splitlines() if line.startswith(f"| `traverse {name} "))
        for action in command._actions:
            flags = [
                flag
                for flag in action.option_strings
                if flag not in {"-h", "--help", "--output", "--title", "--notes"}
            ]
            assert all(flag in row for flag in flags), (name, flags)


@pytest.mark.parametrize("page", PAGES)
def test_links_and_pictures_lead_somewhere(page):
    for target in re.findall(r"\]\(([^)#:]+)\)", text_of(page)):
        assert ((ROOT / page).parent / target).exists(), target


def test_the_papers_and_templates_it_names_are_those_there_are():
    papers = read_template("field").value.papers
    said = text_of("templates/README.md")
    for name in ("A5", "A0", "Letter", "Legal", "Tabloid", "A4-Letter", "Roll-610"):
        assert name in papers
        assert name in said
    listed = re.search(r"^Templates are (.+?) \(", said, flags=re.MULTILINE).group(1)
    assert set(re.findall(r"`(\w+)`", listed)) == set(known_templates()) - {"example"}


def test_the_top_level_holds_what_was_agreed():
    allowed = {
        "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml",
        "traverse", "grammar", "tests", "samples", "templates",
    }  # fmt: skip
    tracked = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert tracked - allowed <= {"build", "dist"} | {path.name for path in ROOT.glob("*.pdf")}


def test_every_requirement_is_one_the_project_picked():
    needs = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    assert {re.match(r"[\w-]+", need).group() for need in needs} == {
        "lark", "numpy", "reportlab", "matplotlib", "contourpy", "fonttools", "pyproj", "pygeomag", "scipy", "shapely", "rich", "coloraide",
        "font-source-sans-pro", "pypdf",
    }  # fmt: skip


def test_the_keys_of_the_json_are_those_it_lists(compile_text):
    (log,) = blocks("trav")
    found = compile_text(log.replace("\nat 1\n", "\nsection A-A' from 1 to 3\n\nat 1\n", 1))
    body = as_json(found.log, found.trav, found.diagnostics)
    data = text_of("grammar/data.md")
    rows = dict(re.findall(r"^\| `(\w+)` \| ([\w, ]+) \|$", data, flags=re.MULTILINE))
    assert set(body) - {"json", "notation"} == set(rows)
    for key, listed in rows.items():
        record = body[key][0] if isinstance(body[key], list) and body[key] else body[key]
        if record:
            assert list(record) == listed.split(", "), key
