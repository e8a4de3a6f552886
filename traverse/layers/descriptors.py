"""How layers are drawn, as Styled Layer Descriptors (OGC 02-070, version 1.0.0) in the pens and colours of the sheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from xml.sax.saxutils import escape

from traverse.ground.records import Traverse
from traverse.sheet.paper.page import Pen
from traverse.sheet.paper.style import PENS
from traverse.sheet.signs.colour import unit_styles

_PIXEL_MM = 0.28
"""What a pixel of a style is taken for. Source: OGC 05-077r4, 11.1 (the standardized rendering pixel), from memory."""


_DOTS = (
    "<PolygonSymbolizer><Fill><GraphicFill><Graphic><Mark><WellKnownName>circle</WellKnownName><Fill>"
    '<CssParameter name="fill">#000000</CssParameter></Fill></Mark><Size>1</Size></Graphic></GraphicFill></Fill>'
    "</PolygonSymbolizer>"
)
"""Covered ground."""


def styles_of(trav: Traverse) -> Mapping[str, str]:
    """The descriptor of every layer that the sheet draws, by the layer's name."""
    units = unit_styles(trav.log.units)
    ground = [_rule(_fill(one.colour), ("unit", letters), ("covered", "0")) for letters, one in units.items()]
    return {
        "stations": _descriptor(
            "stations",
            [
                _rule(_mark("triangle", 7.0, fill="#ffffff", label="name"), ("kind", "control")),
                _rule(_mark("circle", 4.0, fill="#000000", label="name"), ("kind", "walked")),
                _rule(_mark("circle", 4.0, fill="#ffffff", label="name"), ("kind", "side")),
                _rule(_mark("square", 5.0, fill="#ffffff", label="name"), ("kind", "sighted")),
                _rule(_mark("x", 6.0, fill="#000000", label="name"), ("kind", "control not used")),
            ],
        ),
        "legs": _descriptor(
            "legs",
            [
                _rule(_stroke(PENS["spur"]), ("kind", "side")),
                *(_rule(_stroke(PENS["leg"]), ("kind", kind)) for kind in ("to", "close")),
            ],
        ),
        "tracks": _descriptor("tracks", [_rule(_stroke(PENS["receiver track"]))]),
        "attitude_signs": _descriptor("attitude_signs", [_rule(_stroke(PENS["symbol"]))]),
        "planes": _descriptor("planes", [_rule(_label("figure"))]),
        "lines": _descriptor("lines", [_rule(_label("figure"))]),
        "contact_lines": _descriptor("contact_lines", list(_borders())),
        "computed_lines": _descriptor(
            "computed_lines",
            [
                _rule(_stroke(PENS["computed trace"]), ("kind", "contact")),
                _rule(_stroke(PENS["computed fault trace"]), ("kind", "fault")),
                _rule(_stroke(PENS["projected trace"]), ("kind", "outcrop")),
                _rule(_stroke(PENS["axial trace"]), ("kind", "axial trace")),
                # As the sheet draws it: what is inferred from the ground to either side.
                _rule(_stroke(PENS["contact inferred"]), ("kind", "unbooked change")),
            ],
        ),
        "computed_zones": _descriptor("computed_zones", [_rule(_fill("#ececec"))]),
        "areas": _descriptor("areas", [*ground, _rule(_DOTS, ("covered", "1"))]),
        "ground_lines": _descriptor(
            "ground_lines",
            [
                _rule(_stroke(PENS[kind]), ("kind", kind))
                for kind in ("stream", "path", "track", "road", "ridge", "cliff", "wall", "fence")
            ],
        ),
        "section_lines": _descriptor("section_lines", [_rule(_stroke(PENS["section line"]))]),
        "samples": _descriptor("samples", [_rule(_mark("square", 5.0, fill="#ffffff", label="label"))]),
        "photos": _descriptor("photos", [_rule(_mark("triangle", 6.0, fill="#ffffff", label="label"))]),
        "hazards": _descriptor("hazards", [_rule(_mark("triangle", 8.0, fill="#000000", label="mark"))]),
    }


def _borders() -> Iterable[str]:
    for kind, pens in (("contact", "contact"), ("unconformity", "contact"), ("fault", "fault")):
        for certainty in ("certain", "approximate", "inferred", "concealed"):
            yield _rule(_stroke(PENS[f"{pens} {certainty}"]), ("kind", kind), ("certainty", certainty))
    # A fault without units has no certainty; on the sheet it is drawn as seen.
    yield _rule(_stroke(PENS["fault certain"]), ("kind", "fault"), ("certainty", None))


def _descriptor(name: str, rules: Iterable[str]) -> str:
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<StyledLayerDescriptor version="1.0.0" xmlns="http://www.opengis.net/sld"'
        ' xmlns:ogc="http://www.opengis.net/ogc">'
        f"<NamedLayer><Name>{name}</Name><UserStyle><Name>{name}</Name><FeatureTypeStyle>{''.join(rules)}"
        "</FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>"
    )


def _rule(symbolizers: str, *equal: tuple[str, str | None]) -> str:
    tests = [
        f"<ogc:PropertyIsNull><ogc:PropertyName>{field}</ogc:PropertyName></ogc:PropertyIsNull>"
        if value is None
        else f"<ogc:PropertyIsEqualTo><ogc:PropertyName>{field}</ogc:PropertyName>"
        f"<ogc:Literal>{escape(value)}</ogc:Literal></ogc:PropertyIsEqualTo>"
        for field, value in equal
    ]
    both = f"<ogc:And>{''.join(tests)}</ogc:And>" if len(tests) > 1 else "".join(tests)
    wanted = f"<ogc:Filter>{both}</ogc:Filter>" if tests else ""
    title = escape(" ".join(value for _, value in equal if value not in {"0", "1", None}))
    return f"<Rule><Name>{title}</Name>{wanted}{symbolizers}</Rule>"


def _parameter(name: str, value: str) -> str:
    return f'<CssParameter name="{name}">{value}</CssParameter>'


def _pixels(length_mm: float) -> str:
    return f"{length_mm / _PIXEL_MM:.2f}"


def _stroke(pen: Pen) -> str:
    said = [_parameter("stroke", pen.colour), _parameter("stroke-width", _pixels(pen.width_mm))]
    if pen.dash_mm:
        said.append(_parameter("stroke-dasharray", " ".join(map(_pixels, pen.dash_mm))))
    if pen.round_cap:
        said.append(_parameter("stroke-linecap", "round"))
    return f"<LineSymbolizer><Stroke>{''.join(said)}</Stroke></LineSymbolizer>"


def _fill(colour: str) -> str:
    return f"<PolygonSymbolizer><Fill>{_parameter('fill', colour)}</Fill></PolygonSymbolizer>"


def _mark(shape: str, size: float, *, fill: str, label: str) -> str:
    return (
        f"<PointSymbolizer><Graphic><Mark><WellKnownName>{shape}</WellKnownName><Fill>{_parameter('fill', fill)}</Fill>"
        f"<Stroke>{_parameter('stroke', '#000000')}</Stroke></Mark><Size>{size:g}</Size></Graphic></PointSymbolizer>"
        f"{_label(label)}"
    )


def _label(field: str) -> str:
    return (
        f"<TextSymbolizer><Label><ogc:PropertyName>{field}</ogc:PropertyName></Label><Font>"
        f"{_parameter('font-size', '10')}</Font><LabelPlacement><PointPlacement><Displacement><DisplacementX>5</DisplacementX>"
        "<DisplacementY>5</DisplacementY></Displacement></PointPlacement></LabelPlacement><Fill>"
        f"{_parameter('fill', '#000000')}</Fill></TextSymbolizer>"
    )
