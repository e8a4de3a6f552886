"""The table of settings: templates/example.toml shows all of it, and what it declares is what is asked for."""

import re
import tomllib

import pytest

from traverse.resources import data
from traverse.sheet.template.reading import read_template
from traverse.sheet.template.settings import SETTINGS, Kind, setting_of

EXAMPLE = data("templates", "example.toml").read_text(encoding="utf-8")


def shown():
    """Keys of the example with what it has commented out."""
    table = tomllib.loads(re.sub(r"^# (?=\[|\w+ = )", "", EXAMPLE, flags=re.MULTILINE))

    def keys(inside, at):
        for name, value in inside.items():
            path = f"{at}.{name}" if at else name
            if isinstance(value, dict):
                yield from keys(value, path)
            else:
                yield path

    return list(keys(table, ""))


def test_the_example_shows_nothing_that_is_no_setting():
    for key in shown():
        assert setting_of(key).words, key


def test_the_example_shows_every_setting():
    keys = shown()
    there = {setting_of(key).name for key in keys}
    assert there == set(SETTINGS)
    for name, setting in SETTINGS.items():
        if name.endswith(".*"):
            for one in setting.keys:
                assert name.replace("*", one) in keys
    listed = re.findall(r'"(\w+)"', EXAMPLE[EXAMPLE.index("# What is made") : EXAMPLE.index("[papers]")])
    assert set(listed) == set(SETTINGS["show"].keys)


WHOLE = data("templates", "field.toml").read_text(encoding="utf-8") + (
    "[page]\nwidth = 210.0\nheight = 297.0\n"
    "[panels]\nmap = [10.0, 160.0, 190.0, 110.0]\nlimits = [146.0, 15.0, 54.0, 48.0]\n"
)


def without(key):
    """The whole template with one setting, or all of one table, left out."""
    table, _, name = key.rpartition(".")
    at = 0 if not table else WHOLE.index(f"[{table}]")
    if name == "*":
        end = WHOLE.find("\n[", at + 1)
        return WHOLE[:at] + WHOLE[end + 1 :]
    found = re.compile(rf"^{name} = .*\n", re.MULTILINE).search(WHOLE, at)
    return WHOLE[: found.start()] + WHOLE[found.end() :]


@pytest.mark.parametrize("key", [name for name, one in SETTINGS.items() if one.needed])
def test_what_must_be_said_is_asked_for_by_name(tmp_path, key):
    path = tmp_path / "mine.toml"
    path.write_text(WHOLE, encoding="utf-8")
    assert read_template(str(path)).value is not None
    path.write_text(without(key), encoding="utf-8")
    (said,) = read_template(str(path)).diagnostics
    table, _, name = key.removesuffix(".*").rpartition(".")
    asked = f"[page] does not say its {name}" if table == "page" else f"`{key.removesuffix('.*')}`"
    assert asked in said.message


@pytest.mark.parametrize(
    "name",
    [name for name, one in SETTINGS.items() if one.kind in {Kind.LENGTH, Kind.SHARE} and "*" not in name],
)
def test_a_number_out_of_its_limits_is_told_with_what_it_means(tmp_path, name):
    setting = SETTINGS[name]
    table, _, key = name.rpartition(".")
    head = f"[{table}]\n" if table else ""
    path = tmp_path / "mine.toml"
    for wrong in (-1.0, setting.most * 2.0):
        path.write_text(f'extends = "section"\n{head}{key} = {wrong}\n', encoding="utf-8")
        said = read_template(str(path)).diagnostics
        (one,) = [one for one in said if f"`{name}` must be a" in one.message]
        assert one.hints == (f"{setting.words}, such as {setting.such}",)


def test_a_paper_may_have_a_point_in_its_name(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text('extends = "field"\n[papers]\n"Card 4.5" = [300.0, 450.0]\n', encoding="utf-8")
    assert read_template(str(path)).value.papers["Card 4.5"] == (300.0, 450.0)
