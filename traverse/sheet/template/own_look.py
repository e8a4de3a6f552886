"""The look that a template asks for."""

from __future__ import annotations

from types import MappingProxyType

from traverse.sheet.paper.fonts import own_font
from traverse.sheet.paper.look import SHIPPED, Look
from traverse.sheet.signs.symbols import signs_with
from traverse.sheet.template.reading import Template


def look_of(template: Template) -> Look:
    """The template's own pens, signs and fonts as a value to draw with."""
    if not (template.lines or template.signs or template.fonts):
        return SHIPPED
    # Signs are drawn with the pens, so that a pen alone changes them.
    signs = signs_with(template.lines, template.signs) if template.lines or template.signs else {}
    fonts = {face: own_font(face, path) for face, path in template.fonts.items()}
    return Look(
        pens=MappingProxyType(dict(template.lines)),
        signs=MappingProxyType(signs),
        fonts=MappingProxyType(fonts),
    )
