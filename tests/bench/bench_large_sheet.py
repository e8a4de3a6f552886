"""A sheet of 1,000 stations (2,500 with `--all`), each with a reading, on A0, against its own lines and texts on a bare canvas; labels that grow.

Each side runs in a process of its own, so that its memory is its own: text to PDF here, and there the same paths and
texts drawn with reportlab alone. Seconds are those of the processor, since both sides may wait for other work. Aims: 3 times, under 500 MB, a file within 1.5 times. Then the labels of a map that
grows with its stations, from 250 to 1,500 at the same distance from each other: no worse than n log n.
Prints; asserts nothing. Run by hand: python tests/bench/bench_large_sheet.py
"""

import marshal
import math
import subprocess
import sys
import tempfile
import time
from pathlib import Path as File

sys.path.insert(0, str(File(__file__).parent.parent.parent))

from tests.bench.aims import told

ROOT = File(__file__).resolve().parents[2]

ROWS, COLUMNS, STEP_M = 25 if "--all" in sys.argv else 10, 100, 50
FACES = {
    "regular": "SourceSansPro-Regular",
    "semibold": "SourceSansPro-Semibold",
    "bold": "SourceSansPro-Bold",
    "italic": "SourceSansPro-It",
}
POINTS = 72.0 / 25.4


def log(rows=ROWS, columns=COLUMNS):
    """Up and down a field, a bed at each station; the line of section along one row."""
    lines = [
        "notation 1",
        "traverse Stations by the thousand",
        "bearings true",
        "attitudes dip-right",
        "unit Aa Upper beds ; Jurassic",
        "unit Bb Lower beds ; Triassic",
        f"section A-A' from 1 to {columns}",
        "sheet scale 1:5000 paper A0 landscape",
    ]
    for number in range(rows * columns):
        row = number // columns
        turned = (number - 1) // columns != row
        bearing = 0 if turned else 90 if row % 2 == 0 else 270
        lines.append(f"to {number + 1} {bearing:03d} {STEP_M}m" if number else "at 1")
        lines.append(f"  unit {'Aa' if row < rows / 2 else 'Bb'}")
        lines.append(f"  bed {30 + number % 40:03d}/{20 + number % 50}")
    return "\n".join(lines) + "\n"


def composed():
    """The sheet, and when it was begun."""
    from tests.sheet.fixture_sheet import sheet as made
    from traverse.compile import compile_log
    from traverse.source import Source

    found = compile_log(Source(name="large.trav", text=log()), load=lambda name: None)
    start = time.process_time()
    document, said = made(found)
    for one in said:
        if one.code == "no-room-on-map":
            print("    " + one.message[:110])
    return document, start


def peak_mb():
    """Of this process; what `getrusage` gives would be that of the process it was forked from."""
    (line,) = [one for one in File("/proc/self/status").read_text().splitlines() if one.startswith("VmHWM")]
    return int(line.split()[1]) / 1024


def ours(folder):
    """How long the sheet took once the log was compiled, and what was held by then; its lines and texts for the bare canvas."""
    from traverse.output.pdf import write_pdf

    document, start = composed()
    middle = time.process_time()
    (folder / "ours.pdf").write_bytes(write_pdf(document))
    end = time.process_time()
    held = peak_mb()
    primitives(document, folder)
    print(f"    composed in {middle - start:.1f} s, written in {end - middle:.1f} s")
    return end - start, held


def bare(folder):
    """The same paths and texts, with the same pens, on reportlab's canvas."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    # Written by the process that started this one.
    files, pages = marshal.loads((folder / "primitives").read_bytes())  # noqa: S302
    start = time.process_time()
    for name, path in files.items():
        pdfmetrics.registerFont(TTFont(name, path))
    canvas = Canvas(
        str(folder / "bare.pdf"), invariant=1, pageCompression=1, initialFontName=next(iter(files))
    )
    for width, height, items in pages:
        canvas.setPageSize((width, height))
        for kind, *rest in items:
            if kind == "text":
                name, size, x, y, turn, words, anchor = rest
                canvas.setFont(name, size)
                if turn:
                    canvas.saveState()
                    canvas.translate(x, y)
                    canvas.rotate(turn)
                    canvas.drawString(0, 0, words)
                    canvas.restoreState()
                else:
                    draw = {
                        0.0: canvas.drawString,
                        0.5: canvas.drawCentredString,
                        1.0: canvas.drawRightString,
                    }
                    draw[anchor](x, y, words)
            else:
                commands, line, fill = rest
                path = canvas.beginPath()
                for command, *numbers in commands:
                    {"M": path.moveTo, "L": path.lineTo, "C": path.curveTo, "Z": path.close}[command](
                        *numbers
                    )
                if line is not None:
                    canvas.setLineWidth(line[0])
                    canvas.setDash(*line[1:])
                if fill:
                    canvas.setFillColorRGB(*fill)
                canvas.drawPath(path, stroke=line is not None, fill=bool(fill))
        canvas.showPage()
    canvas.save()
    return time.process_time() - start, peak_mb()


def primitives(document, folder):
    """Paths and texts of a sheet in points, as plain tuples."""
    from traverse.sheet.paper.fonts import family, font, visible
    from traverse.sheet.paper.page import Anchor, Face, Group, Text

    files = {name: str(font(family(face)).face.filename) for face in Face for name in [FACES[face.value]]}
    anchors = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}

    def walk(items):
        for item in items:
            if isinstance(item, Group):
                yield from walk(item.items)
            elif isinstance(item, Text):
                x, y = (value * POINTS for value in item.at)
                words = visible(item.text)
                yield (
                    "text",
                    FACES[item.face.value],
                    item.size_pt,
                    x,
                    y,
                    item.turn_deg,
                    words,
                    anchors[item.anchor],
                )
            else:
                commands = [(one[0], *(value * POINTS for value in one[1:])) for one in item.commands]
                dash = [value * POINTS for value in item.pen.dash_mm] if item.pen else []
                line = (item.pen.width_mm * POINTS, dash) if item.pen else None
                fill = isinstance(item.fill, str) and tuple(
                    int(item.fill[at : at + 2], 16) / 255 for at in (1, 3, 5)
                )
                yield "path", commands, line, fill

    pages = [
        (page.width_mm * POINTS, page.height_mm * POINTS, list(walk(page.items))) for page in document.pages
    ]
    count = [sum(item[0] == kind for page in pages for item in page[2]) for kind in ("path", "text")]
    print(f"{len(pages)} pages, {count[0]:,} paths and {count[1]:,} texts")
    (folder / "primitives").write_bytes(marshal.dumps((files, pages)))


def sheet():
    with tempfile.TemporaryDirectory() as name:
        folder = File(name)
        found = {}
        for side in ("ours", "bare"):
            done = subprocess.run(
                [sys.executable, __file__, side, name, *sys.argv[1:]],
                check=True,
                capture_output=True,
                text=True,
                cwd=ROOT,
            )
            *said, last = done.stdout.splitlines()
            print("\n".join(said) if said else "", end="\n" if said else "")
            seconds, megabytes = map(float, last.split())
            size = (folder / f"{side}.pdf").stat().st_size
            found[side] = seconds, megabytes, size
            print(f"{side}: {seconds:.1f} s, {megabytes:.0f} MB, file {size / 1e6:.2f} MB")
        time_ratio = found["ours"][0] / found["bare"][0]
        size_ratio = found["ours"][2] / found["bare"][2]
        told("time over a bare canvas", time_ratio, 3)
        told("file over a bare canvas", size_ratio, 1.5)


def placed(count):
    """Seconds to draw a map whose panel grows with its stations, and the share that its labels take."""
    import cProfile
    import pstats

    from traverse.compile import compile_log, map_ground
    from traverse.sheet.map.map import map_panel
    from traverse.sheet.paper.page import Box
    from traverse.source import Source

    columns = math.isqrt(count)
    found = compile_log(Source(name="map.trav", text=log(count // columns, columns)), load=lambda name: None)
    wide = 10.0 * columns + 60.0
    box = Box(x=10.0, y=10.0, width=wide, height=wide)
    profile = cProfile.Profile(time.process_time)
    profile.enable()
    map_panel(map_ground(found.trav), box=box, scale=5000, styles={})
    profile.disable()
    functions = pstats.Stats(profile).stats
    names = ("name_stations", "_figures")
    return sum(row[3] for (_, _, name), row in functions.items() if name in names)


def growth():
    placed(100)  # reads the fonts
    few, many = placed(250), placed(1_500)
    wanted = 6.0 * math.log(1_500) / math.log(250)
    print(f"labels of 250 stations {few:.2f} s, of 1,500 {many:.2f} s (both under a profiler):", end=" ")
    print(f"{many / few:.1f} times (n log n: {wanted:.1f})")


def listed(count):
    """Seconds to compose a sheet of so many stations with a hazard at each."""
    from tests.sheet.fixture_sheet import sheet as made
    from traverse.compile import compile_log
    from traverse.source import Source

    walk = "".join(f"to {one} 047 20m\nhazard loose block number {one}\n" for one in range(2, count + 2))
    text = f"notation 1\nbearings true\nat 1\n{walk}"
    found = compile_log(Source(name="hazards.trav", text=text), load=lambda name: None)
    start = time.process_time()
    made(found)
    return time.process_time() - start


def hazards():
    listed(10)  # reads the fonts
    few, many = listed(50), listed(300)
    print(f"sheet of 50 hazards {few:.2f} s, of 300 {many:.2f} s: {many / few:.1f} times (six times as many)")


if __name__ == "__main__":
    if sys.argv[1:2] in (["ours"], ["bare"]):
        print(*{"ours": ours, "bare": bare}[sys.argv[1]](File(sys.argv[2])))
    else:
        sheet()
        growth()
        hazards()
