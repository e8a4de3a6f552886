"""What the key of a log settles for all that is printed of it, so that one sheet lies on the other."""

from __future__ import annotations

from traverse.diagnostic import Diagnostic
from traverse.record import record
from traverse.sheet.compose.arrangement import Layout
from traverse.sheet.compose.placing import Placing
from traverse.sheet.compose.tiles import MapTile
from traverse.sheet.section.strip import StripHeights
from traverse.sheet.template.reading import Paper


@record(frozen=True, kw_only=True)
class SheetOne:
    """Paper, scale, window and heights that key, grey key, handout and overlay of a log share."""

    paper: Paper
    layout: Layout | None
    """Where the sheet arranges its panels itself and has a map."""
    placing: Placing | None
    """Where the template places them."""
    tiles: tuple[MapTile, ...]
    """Maps after sheet 1; none where one sheet holds the walk."""
    strips: tuple[StripHeights | None, ...]
    """Of each section in order; None where no height was measured, or nothing is drawn."""
    larger: int | None
    """Largest round scale on paper at which the walk fits a sheet to hang up, where the log fixes a smaller one."""
    said: tuple[Diagnostic, ...]
    """Of the paper."""

    @property
    def scale(self) -> int | None:
        """Of sheet 1; None without a map or a section."""
        settled = self.layout or self.placing
        return None if settled is None else settled.scale

    @property
    def note_lines(self) -> int:
        """That a note under a section may take."""
        settled = self.layout or self.placing
        return 1 if settled is None else settled.note_lines
