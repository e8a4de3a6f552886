"""The published schema of the JSON holds for whatever is exported, and for nothing else.

Checked with `jsonschema`, a reference library for JSON Schema, draft 2020-12.
"""

import copy
import json
import re
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator, FormatChecker

from tests.sheet import hard_logs
from tests.thorough import some
from traverse.__main__ import main
from traverse.command.files import LogFiles
from traverse.compile import compile_log
from traverse.log.described import DESCRIBED
from traverse.output.json_file import JSON_VERSION, as_json

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "grammar" / "traverse.schema.json").read_text(encoding="utf-8"))
VALID = Draft202012Validator(SCHEMA, format_checker=FormatChecker())
LOGS = sorted(
    path
    for folder in ("samples", "tests/cases", "tests/reference/logs", "tests/corpus")
    for path in (ROOT / folder).rglob("*.trav")
)
HARD = {
    name: text
    for name, text in vars(hard_logs).items()
    if name.isupper() and isinstance(text, str) and "\nat " in text
}


OPTIONAL = {
    "file", "line", "log", "intrusive", "also", "bodies", "faults", "logs", "rulings", "shared", "left_out", "hung",
    "emergency", "call", "meet", "road", "radio", "back",
}  # fmt: skip
"""Fields that not every record of their kind has."""


def exported(compiled):
    return json.loads(json.dumps(as_json(compiled.log, compiled.trav, compiled.diagnostics)))


def faults(body):
    return [f"{list(one.absolute_path)}: {one.message[:200]}" for one in VALID.iter_errors(body)]


def test_it_is_a_schema_of_its_draft_and_of_the_version_that_is_written():
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert SCHEMA["properties"]["json"]["const"] == JSON_VERSION
    assert SCHEMA["$id"].endswith(f":{JSON_VERSION}")


@pytest.mark.every(2)
@pytest.mark.parametrize("path", some(LOGS, 2), ids=lambda path: str(path.relative_to(ROOT)))
def test_it_holds_for_every_log_there_is(path):
    files = LogFiles(str(path))
    source, _ = files.source()
    assert faults(exported(compile_log(source, load=files.load))) == []


@pytest.mark.parametrize("name", HARD)
def test_it_holds_for_hard_logs(name, compile_text):
    assert faults(exported(compile_text(HARD[name], errors=True))) == []


def objects(schema):
    """Every object of the schema, with where it stands."""
    left = [("", SCHEMA)] if schema is None else schema
    while left:
        where, one = left.pop()
        if isinstance(one, dict):
            if one.get("type") == "object":
                yield where, one
            left += [(f"{where}/{key}", value) for key, value in one.items()]
        elif isinstance(one, list):
            left += [(f"{where}/{at}", value) for at, value in enumerate(one)]


def test_every_object_is_strict_and_says_what_it_must_have():
    found = list(objects(None))
    assert len(found) > 40
    for where, one in found:
        assert one["additionalProperties"] is False, where
        assert set(one["required"]) <= set(one["properties"]), where
        optional = set(one["properties"]) - set(one["required"])
        assert optional <= OPTIONAL, where


@pytest.fixture(scope="module")
def valley():
    path = ROOT / "samples" / "oskerra-valley" / "oskerra-valley.trav"
    files = LogFiles(str(path))
    source, _ = files.source()
    body = exported(compile_log(source, load=files.load))
    assert faults(body) == []
    return body


@pytest.mark.parametrize(
    "spoil",
    [
        lambda body: body.update(extra=1),
        lambda body: body["stations"][0].update(mood="good"),
        lambda body: body["stations"][0].pop("east"),
        lambda body: body["stations"][0].update(east="12"),
        lambda body: body["attitudes"][0].update(dip=91.0),
        lambda body: body["attitudes"][0].update(strike=360.0),
        lambda body: body["contacts"][0].update(identity="sure"),
        lambda body: body["traverse"].update(date="14 July"),
        lambda body: body.update(json=2),
        lambda body: body["cautions"].clear(),
        lambda body: body["structure"]["findings"][0].pop("not_excluded"),
    ],
)
def test_it_refuses_what_is_no_such_object(valley, spoil):
    body = copy.deepcopy(valley)
    spoil(body)
    assert faults(body) != []


def test_every_word_that_describes_is_a_kind_of_its_array():
    """A new word must be written down there."""
    for rows in ("attitudes", "contacts", "things"):
        kinds = SCHEMA["properties"][rows]["items"]["properties"]["kind"]["enum"]
        words = {
            one.row_kind for one in DESCRIBED.values() if one.rows is not None and one.rows.value == rows
        }
        assert set(kinds) == words


def test_the_page_of_the_data_lists_the_same_fields():
    page = (ROOT / "grammar" / "data.md").read_text(encoding="utf-8")
    rows = dict(re.findall(r"^\| `(\w+)` \| ([\w, ]+)(?:;[^|]*)? \|$", page, flags=re.MULTILINE))
    assert {"json", "notation", *rows} == set(SCHEMA["properties"])
    for key, listed in rows.items():
        one = SCHEMA["properties"][key]
        fields = (one["items"] if one["type"] == "array" else one)["properties"]
        always = set((one["items"] if one["type"] == "array" else one)["required"])
        assert set(listed.split(", ")) == always, key
        assert always <= set(fields)


def test_the_command_prints_it(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["export", "--schema"])
    assert ended.value.code == 0
    assert json.loads(capsys.readouterr().out) == SCHEMA
