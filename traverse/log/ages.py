"""Order of the names that rocks are dated by."""

from __future__ import annotations

_CHART = (
    ("Quaternary", "Holocene Pleistocene"),
    ("Neogene", "Pliocene Miocene"),
    ("Paleogene", "Oligocene Eocene Paleocene"),
    ("Cretaceous", ""),
    ("Jurassic", ""),
    ("Triassic", ""),
    ("Permian", "Lopingian Guadalupian Cisuralian"),
    ("Carboniferous", "Pennsylvanian Mississippian"),
    ("Devonian", ""),
    ("Silurian", "Pridoli Ludlow Wenlock Llandovery"),
    ("Ordovician", ""),
    ("Cambrian", "Furongian Miaolingian Terreneuvian"),
    ("Ediacaran", ""),
    ("Cryogenian", ""),
    ("Tonian", ""),
    ("Stenian", ""),
    ("Ectasian", ""),
    ("Calymmian", ""),
    ("Statherian", ""),
    ("Orosirian", ""),
    ("Rhyacian", ""),
    ("Siderian", ""),
)
"""Periods, youngest first, with those of their epochs that have names of their own.

Source: International Commission on Stratigraphy, International Chronostratigraphic Chart, from memory.
"""

_SUBSTAGES = {"upper": 0, "late": 0, "middle": 1, "mid": 1, "lower": 2, "early": 2}


def _spans() -> dict[str, tuple[int, int]]:
    """First and last of the steps of ten that a name covers, counted from the youngest."""
    spans: dict[str, tuple[int, int]] = {}
    for at, (period, epochs) in enumerate(_CHART):
        spans[period.lower()] = (at * 10, at * 10 + 9)
        names = epochs.lower().split()
        for step, epoch in enumerate(names):
            spans[epoch] = (at * 10 + step, at * 10 + step)
    first = {name: spans[name][0] for name in spans}
    spans["cenozoic"] = (0, first["cretaceous"] - 1)
    spans["mesozoic"] = (first["cretaceous"], first["permian"] - 1)
    spans["paleozoic"] = spans["palaeozoic"] = (first["permian"], first["ediacaran"] - 1)
    spans["palaeogene"] = spans["paleogene"]
    spans["palaeocene"] = spans["paleocene"]
    spans["precambrian"] = (first["ediacaran"], 10 * len(_CHART))
    return spans


_SPANS = _spans()


def age_rank(name: str) -> float | None:
    """Middle of a dated name, greater for older; None for a name that the chart does not have.

    >>> age_rank("Miocene") < age_rank("Late Cretaceous") < age_rank("Lower Cretaceous") < age_rank("Triassic")
    True
    >>> age_rank("Tollhouse age") is None
    True
    """
    words = name.lower().replace("-", " ").split()
    if not words or words[-1] not in _SPANS or len(words) > 2:
        return None
    first, last = _SPANS[words[-1]]
    if len(words) == 1:
        return (first + last) / 2
    part = _SUBSTAGES.get(words[0])
    if part is None:
        return None
    return first + (last - first) * (1 + 2 * part) / 6
