"""Keeps the figures that come of a log of the corpus, once: `python tests/corpus/keep.py NAME …`.

What is there is never written over: a log that says another thing than it said is a mistake of the program, or is renewed
by hand, as `grammar/growing.md` has it, by deleting its JSON first. Look at what was kept, figure by figure.
"""

import json
import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parents[1]))

from traverse.command.files import LogFiles  # noqa: E402 the tree this file stands in, not an installed one
from traverse.compile import compile_log  # noqa: E402
from traverse.output.json_file import as_json  # noqa: E402

KEPT = (
    "notation", "traverse", "stations", "legs", "loops", "deviations", "fits", "attitudes", "contacts", "thicknesses",
    "bodies", "things", "elevations", "times", "column", "logs", "rulings",
)  # fmt: skip
"""What a log says. Sentences, suspects and constructions may come to be better."""
OF_STRUCTURE = ("bedding_mean", "fold_axis", "planes")
OF_SECTIONS = ("name", "line", "azimuth", "length", "projection", "exaggeration")


def logs():
    """Logs of the corpus, by their names; a file that others use or bring in is none."""
    return {
        str(path.relative_to(HERE).with_suffix("")): path
        for path in sorted(HERE.rglob("*.trav"))
        if path.stem not in {"front", "party-a", "party-b"}
    }


def said(path):
    """What a log says, as far as it must never change, and its errors."""
    files = LogFiles(str(path))
    source, _ = files.source()
    compiled = compile_log(source, load=files.load)
    body = as_json(compiled.log, compiled.trav, compiled.diagnostics)
    kept = {key: body[key] for key in KEPT if key in body}
    kept["structure"] = {key: body["structure"][key] for key in OF_STRUCTURE}
    kept["sections"] = [{key: one[key] for key in OF_SECTIONS} for one in body["sections"]]
    kept["answered"] = [one["line"] for one in body["messages"] if one["severity"] == "answered"]
    return json.loads(json.dumps(_rounded(kept))), [
        one for one in body["messages"] if one["severity"] == "error"
    ]


def _rounded(value, key=""):
    if isinstance(value, float):
        return round(value, 7 if key in {"lon", "lat"} else 3) + 0.0
    if isinstance(value, dict):
        # A log is called by its path, which is another on another machine.
        return {
            one: Path(part).name if one in {"file", "log"} else _rounded(part, one)
            for one, part in value.items()
        }
    return [_rounded(one, key) for one in value] if isinstance(value, list) else value


def _lines(value, indent=0):
    """As text that is read by eye: a record a line."""
    blank = " " * indent
    if isinstance(value, dict) and any(
        isinstance(one, list) and one and isinstance(one[0], dict) for one in value.values()
    ):
        inner = ",\n".join(f'{blank} "{key}": {_lines(one, indent + 1)}' for key, one in value.items())
        return f"{{\n{inner}\n{blank}}}"
    if isinstance(value, list) and value and isinstance(value[0], dict):
        inner = ",\n".join(f"{blank} {json.dumps(one, ensure_ascii=False)}" for one in value)
        return f"[\n{inner}\n{blank}]"
    return json.dumps(value, ensure_ascii=False)


if __name__ == "__main__":
    for name, path in logs().items():
        there = path.with_suffix(".json")
        if (len(sys.argv) > 1 and name not in sys.argv[1:]) or there.exists():
            continue
        found, errors = said(path)
        if errors:
            print(name, "has errors; mend it first")
            continue
        there.write_text(_lines(found) + "\n", encoding="utf-8")
        print("kept", name)
