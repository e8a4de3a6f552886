"""`traverse sheet` on the folded valley, a fresh process, against a process that does only what no sheet can do without.

The floor imports what a sheet must (lark, numpy, pyproj, shapely, reportlab), embeds the same fonts and draws as many
paths and texts on a bare canvas. Aim: 2. Run by hand: python tests/bench/bench_sheet.py
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "samples" / "oskerra-valley" / "oskerra-valley.trav"
# As installed: byte code is kept, whatever this shell says.
COMPILED = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
ROUNDS = 3
FLOOR = """
import sys
from pathlib import Path
import lark, numpy, pyproj, shapely
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
pages, paths, texts, out, *fonts = sys.argv[1:]
names = []
for path in fonts:
    pdfmetrics.registerFont(TTFont(Path(path).stem, path))
    names.append(Path(path).stem)
canvas = Canvas(out, invariant=1, initialFontName=names[0])
for page in range(int(pages)):
    for number in range(int(paths)):
        path = canvas.beginPath()
        path.moveTo(10 + number % 500, 20)
        path.lineTo(30, 40 + number % 700)
        path.lineTo(50, 60)
        canvas.drawPath(path)
    for number in range(int(texts)):
        canvas.setFont(names[number % len(names)], 7.2)
        canvas.drawString(10 + number % 500, 20 + number % 700, "142/68 Tv")
    canvas.showPage()
canvas.save()
"""


def seconds(arguments):
    """Wall time of one fresh process."""
    start = time.perf_counter()
    subprocess.run(arguments, check=True, capture_output=True, env=COMPILED)
    return time.perf_counter() - start


def primitives():
    """Pages of the sample's sheet, and paths and texts on each in the mean."""
    from traverse.command.files import LogFiles, read_source
    from traverse.compile import compile_log, map_ground
    from traverse.sheet.compose.compose import compose
    from traverse.sheet.paper.page import Group, Text
    from traverse.sheet.template.reading import read_template

    def walk(items):
        for item in items:
            if isinstance(item, Group):
                yield from walk(item.items)
            else:
                yield item

    source, _ = read_source(str(SAMPLE))
    found = compile_log(source, load=LogFiles(str(SAMPLE)).load)
    document = compose(map_ground(found.trav), (), template=read_template("field").value, mark="x").value
    kinds = [isinstance(item, Text) for page in document.pages for item in walk(page.items)]
    pages = len(document.pages)
    return pages, (len(kinds) - sum(kinds)) // pages, sum(kinds) // pages


def main():
    from traverse.sheet.paper.fonts import family, font
    from traverse.sheet.paper.page import Face

    fonts = [font(family(face)).face.filename for face in Face]
    pages, paths, texts = primitives()
    with tempfile.TemporaryDirectory() as folder:
        floor_command = [
            sys.executable,
            "-c",
            FLOOR,
            str(pages),
            str(paths),
            str(texts),
            f"{folder}/floor.pdf",
        ]
        floor_command += [str(one) for one in fonts]
        sheet_command = [sys.executable, "-m", "traverse", "sheet", str(SAMPLE), "-o", f"{folder}/sheet.pdf"]
        floor, sheet = [], []
        for _ in range(ROUNDS):
            floor.append(seconds(floor_command))
            sheet.append(seconds(sheet_command))
    low, high = statistics.median(floor), statistics.median(sheet)
    print(f"{pages} pages, {paths} paths and {texts} texts on each")
    told(f"floor {low * 1000:.0f} ms, sheet {high * 1000:.0f} ms, ratio", high / low, 2)


if __name__ == "__main__":
    main()
