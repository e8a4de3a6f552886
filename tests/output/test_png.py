"""PNG: the PDF's own page, seen from above."""

import io
import sys

import numpy as np
import pytest
from PIL import Image

from traverse.output.png import NoRendererError, write_png
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.page import Box, Page, Path, rectangle


def document(width=50.0, height=30.0):
    black = Path(commands=rectangle(Box(x=10.0, y=20.0, width=20.0, height=5.0)), fill="#000000")
    first = Page(width_mm=width, height_mm=height, items=(black,), title="a")
    return Document(pages=(first, Page(width_mm=10.0, height_mm=10.0, items=(), title="b")), title="t")


def test_ink_is_where_it_was_put_at_the_resolution_it_names():
    image = Image.open(io.BytesIO(write_png(document(), dots_per_inch=254.0)))
    assert image.size == pytest.approx((500, 300), abs=1)
    assert image.info["dpi"] == pytest.approx((254.0, 254.0), abs=0.1)
    rows, columns = (np.asarray(image.convert("L")) < 128).nonzero()
    assert [columns.min(), columns.max() + 1, rows.min(), rows.max() + 1] == pytest.approx(
        [100, 300, 50, 100], abs=1.0
    )


def test_a_wall_of_paper_does_not_fill_the_memory():
    assert max(Image.open(io.BytesIO(write_png(document(3000.0, 20.0)))).size) <= 12_001


def test_the_renderer_that_is_missing_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "pypdfium2", None)
    with pytest.raises(NoRendererError, match="preview"):
        write_png(document())
