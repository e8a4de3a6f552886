"""The table of thicknesses by every rule."""

from __future__ import annotations

from traverse.length import Lengths
from traverse.sheet.paper.page import Face
from traverse.sheet.paper.table import Column, Row, Table
from traverse.sheet.paper.words import NOTHING, plain
from traverse.structure.records import Geology


def thickness_table(geology: Geology, lengths: Lengths) -> Table | None:
    """Each unit by every rule; None where nothing is known of any."""
    if not geology.unit_thicknesses:
        return None
    rows: list[Row] = []
    for known in geology.unit_thicknesses:
        whole = [one for one in geology.thicknesses if one.unit == known.unit and not one.at_least]
        mean = NOTHING
        if known.true_m is not None and known.sd_m is not None:
            mean = lengths.plus_minus(known.true_m, known.sd_m)
        rows.append(
            Row(
                cells=(
                    plain(known.unit),
                    str(known.n) if known.n else NOTHING,
                    lengths.extent([one.true_m for one in whole]),
                    lengths.extent([value for one in whole for value in one.bend_m or ()]),
                    lengths.extent([one.arc_m for one in whole if one.arc_m is not None]),
                    mean,
                    lengths.figure(known.least_m),
                ),
                bold=frozenset({0}),
            )
        )
    columns = (
        Column(name="Unit", face=Face.BOLD),
        Column(name="Crossed", unit="times", right=True),
        Column(name="One plane", unit=lengths.sign, right=True),
        Column(name="Bends", unit=lengths.sign, right=True),
        Column(name="Arcs", unit=lengths.sign, right=True),
        Column(name="Mean", unit=lengths.sign, right=True),
        Column(name="At least", unit=lengths.sign, right=True),
    )
    return Table(
        title="Thickness by unit",
        asides=(
            "least to most over all crossings, each way of reckoning",
            "least to most, each way of reckoning",
        ),
        columns=columns,
        rows=tuple(rows),
    )
