"""The smallest lines and letters of a sheet on a scan in black and white: 200 dots to the inch, cut at half.

Common practice, no source: what office copiers and scanners do where nobody sets them.
"""

from functools import cache

import numpy as np
import pypdfium2
import pytest
from scipy.ndimage import maximum_filter

from tests import once
from tests.reference.drawn import logs
from tests.sheet.pages import box, flat
from tests.thorough import each
from traverse.output.pdf import write_pdf
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Group, Ink, Path, Text

DPI, FINE = 200, 600
PATHS = {path.stem: path for path in logs(("samples", "logs"))}
DRAWN = ("oskerra-valley", "copperjar-wash", "many-units", "party-aside")
KINDS = ("key", "grey", "blank")


@cache
def scanned(name, kind):
    """Page 1, and where it is dark at 200 dots to the inch and at 600."""
    document = once.drawn(PATHS[name], kind)
    page = pypdfium2.PdfDocument(write_pdf(document))[0]

    def rendered(dpi):
        return np.asarray(page.render(scale=dpi / 72.0, grayscale=True).to_pil()) < 128

    return document.pages[0], rendered(DPI), rendered(FINE)


def at(image, places, high_mm, dpi):
    """Pixels at places in millimetres, (n, 2)."""
    rows = np.clip(((high_mm - places[:, 1]) * dpi / 25.4).astype(int), 0, image.shape[0] - 1)
    columns = np.clip((places[:, 0] * dpi / 25.4).astype(int), 0, image.shape[1] - 1)
    return rows, columns


def lines(items, *, layers=()):
    """Stroked paths of the map, but what is pale on purpose, with the layers they are in."""
    for item in items:
        if isinstance(item, Group):
            yield from lines(item.items, layers=(*layers, item.layer))
        elif isinstance(item, Path) and item.pen is not None and Layer.MAP in layers:
            yield item, layers[-1]


def places_on(path):
    """Places along the straight pieces of a path, four to a millimetre."""
    found_, last = [], None
    for command in path.commands:
        here = command[-2:] if len(command) > 2 else None
        if command[0] == "L" and last is not None:
            steps = max(2, int(np.hypot(here[0] - last[0], here[1] - last[1]) * 4))
            share = np.linspace(0.0, 1.0, steps)[:, None]
            found_.append(np.array(last) * (1.0 - share) + np.array(here) * share)
        last = here or last
    return np.concatenate(found_) if found_ else np.zeros((0, 2))


def lasts(pen, kind):
    """What a copy of each is made to keep: on the grey key and the blank all but what is pale on purpose."""
    return pen.ink is Ink.LASTS if kind == "key" else pen.ink is not Ink.BASE


@pytest.mark.every(2)
@pytest.mark.parametrize(("name", "kind"), each(DRAWN, KINDS))
def test_every_line_of_the_map_is_seen(name, kind):
    """Where fine eyes see its ink, the scan has black within a pixel."""
    page, scan, fine = scanned(name, kind)
    near = maximum_filter(scan, size=3)
    lost = []
    seen = 0
    for path, layer in lines(page.items):
        if not lasts(path.pen, kind) or path.pen.colour > "#808080":
            continue
        places = places_on(path)
        if not len(places):
            continue
        rows, columns = at(fine, places, page.height_mm, FINE)
        inked = fine[rows, columns]
        if inked.sum() < 4:
            continue
        seen += 1
        rows, columns = at(scan, places[inked], page.height_mm, DPI)
        kept = near[rows, columns].mean()
        if kept < 0.9:
            lost.append((layer, path.pen, round(float(kept), 2)))
    assert seen
    assert not lost


@pytest.mark.every(2)
@pytest.mark.parametrize(("name", "kind"), each(DRAWN, KINDS))
def test_every_letter_of_the_sheet_is_seen(name, kind):
    """As much black as ink, within a third: neither thin strokes lost nor holes filled."""
    page, scan, fine = scanned(name, kind)
    poor = []
    for one in flat(page.items):
        if not isinstance(one, Text) or one.turn_deg or not one.text.strip() or one.colour > "#808080":
            continue
        left, low, right, top = box(one)
        cut = [
            image[
                int((page.height_mm - top) * dpi / 25.4) : int((page.height_mm - low) * dpi / 25.4) + 1,
                int(left * dpi / 25.4) : int(right * dpi / 25.4) + 1,
            ]
            for image, dpi in ((scan, DPI), (fine, FINE))
        ]
        if min(part.size for part in cut) and cut[1].mean() > 0.02:
            share = cut[0].mean() / cut[1].mean()
            if not 0.66 < share < 1.5 and len(one.text) > 2:
                poor.append((one.text, round(float(share), 2)))
    assert not poor
