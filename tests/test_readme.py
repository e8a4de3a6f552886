"""What the README shows is true: its logs compile, its commands exist, its picture is there."""

import re
import tomllib
from pathlib import Path

import pytest

from tests.notation.test_camp import PARTIES, A, camp
from traverse.__main__ import parser
from traverse.diagnostic import Severity, render
from traverse.output.json_file import as_json

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language):
    fenced = re.findall(r"^```([\w-]*)\n(.*?)^```$", README, flags=re.MULTILINE | re.DOTALL)
    return [text for name, text in fenced if name == language]


def test_it_opens_with_one_paragraph_that_states_the_job():
    title, paragraph, *_ = README.split("\n\n")
    assert title == "# traverse"
    assert paragraph.startswith("Field parties walk a valley")
    assert "map sheet" in paragraph


@pytest.mark.parametrize("text", blocks("trav"))
def test_every_log_in_it_compiles_without_a_warning(compile_text, text):
    compiled = compile_text(text)
    assert [one.message for one in compiled.diagnostics if one.kind == "warning"] == []
    assert compiled.survey.closures[0].adjusted


def test_the_mistake_it_shows_is_told_as_it_shows_it(compile_text):
    (log,) = blocks("trav")
    compiled = compile_text(log.replace("N47E 64p", "N95E 64p"), errors=True)
    (told,) = [one for one in compiled.diagnostics if one.kind == "error"]
    shown = next(block for block in blocks("") if "can't be" in block)
    assert render(told, compiled.sources).replace("log.trav", "tarn.trav") == shown.rstrip()


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


def test_links_and_pictures_lead_somewhere():
    for target in re.findall(r"\]\(([^)#:]+)\)", README):
        assert (ROOT / target).exists(), target


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
    rows = dict(re.findall(r"^\| `(\w+)` \| ([\w, ]+) \|$", README, flags=re.MULTILINE))
    assert set(body) - {"notation"} == set(rows)
    for key, listed in rows.items():
        record = body[key][0] if isinstance(body[key], list) and body[key] else body[key]
        if record:
            assert list(record) == listed.split(", "), key
