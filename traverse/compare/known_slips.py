"""A known point that was written down wrong beside others that hold the walk."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from traverse.compare.mends import Mend, cause_of, control_mend
from traverse.compare.pairing import sd_of
from traverse.compare.records import Cause
from traverse.ground.records import Traverse
from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.settled import settled
from traverse.source import Source
from traverse.trade import CAUSE_PLACE_M

_SURE = 3.0
"""Standard errors by which the figures lie off the key's, and times that its own walk comes nearer to it; common practice,
no source."""


def known_slips(
    log: Log, now: Survey, key: Traverse, names: Mapping[str, str], sources: Mapping[str, Source]
) -> Iterator[tuple[Mend, Cause]]:
    """Known points whose figures are off the key's, while the log's own walk comes to where the key has them.

    `now` is that walk with the causes mended that were found. A point on which it hangs alone moves all of it, and is told
    by that. `names` are stations by the key's.
    """
    if now.frame.epsg != key.survey.frame.epsg:
        return
    for one in log.controls:
        of, walked = names.get(one.name), now.places.get(one.name)
        if of is None or walked is None or one.east_m is None or one.north_m is None:
            continue
        place = key.survey.places[of]
        there = place.east_m, place.north_m
        off = settled(math.dist((one.east_m, one.north_m), there), 3)
        rest = settled(math.dist((walked.east_m, walked.north_m), there), 3)
        sd = math.hypot(one.sd_plan_m or 0.0, sd_of(place), CAUSE_PLACE_M)
        mend = control_mend(one, place, sources)
        if mend is not None and off > _SURE * sd and rest < off / _SURE:
            said = log.lengths.said
            on = f"its figures are {said(off)} off the key's, and its own walk comes to within {said(max(rest, 1.0))}"
            yield mend, cause_of(mend, on, "another point taken for it")
