"""What `grammar/season.md` says of the layers is so, and its example runs."""

import re
import shutil
from pathlib import Path

from traverse.season.season_tables import TABLES

ROOT = Path(__file__).parent.parent.parent
PAGE = (ROOT / "grammar" / "season.md").read_text("utf-8")


def test_it_lists_every_layer_with_its_fields():
    rows = re.findall(r"^\| `(\w+)` \| (\w+) \| ([\w, ]+) \|$", PAGE, flags=re.MULTILINE)
    assert rows == [
        (name, table.geometry.value, ", ".join(one.name for one in table.fields))
        for name, table in TABLES.items()
    ]


def test_the_example_in_python_does_what_it_says(tmp_path, monkeypatch, capsys):
    (code,) = re.findall(r"^```python\n(.*?)^```$", PAGE, flags=re.MULTILINE | re.DOTALL)
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    exec(compile(code, "season.md", "exec"), {})  # noqa: S102 - it is our own
    assert "'counted': 3" in capsys.readouterr().out
    assert (tmp_path / "index" / "season.html").is_file()
