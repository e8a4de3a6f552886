"""The plane through one contact seen at three places or more."""

from __future__ import annotations

import numpy as np

from traverse.angle import wrap_360
from traverse.location.records import Survey
from traverse.log.items import ContactKind
from traverse.log.records import Log
from traverse.settled import SAME_M, settled, settled_all
from traverse.structure.form.records import ContactPlane
from traverse.structure.readings.directions import Vectors, dip_of, pole, upward
from traverse.structure.readings.place_errors import place_covariance, points_of, start_covariance
from traverse.structure.readings.records import PlacedContact


def contact_planes(log: Log, survey: Survey, contacts: tuple[PlacedContact, ...]) -> tuple[ContactPlane, ...]:
    """One plane for each pair of units that meet at three places or more, in the order of the log.

    Where a contact was followed each end of the stretch is a place.

    Means nothing where the contact is folded between the places.
    """
    pairs: dict[tuple[str, str], list[PlacedContact]] = {}
    for contact in contacts:
        if contact.kind is not ContactKind.FAULT and contact.younger and contact.older:
            pairs.setdefault((contact.younger, contact.older), []).append(contact)
    turn = survey.frame.to_true_deg
    common = start_covariance(log, survey)
    return tuple(
        _plane(pair, places, turn, common)
        for pair, places in pairs.items()
        if sum(len(points_of(one)) for one in places) > 2
    )


def _plane(
    pair: tuple[str, str], contacts: list[PlacedContact], turn_deg: float, common: Vectors
) -> ContactPlane:
    """Source: least squares by the normal of least spread; its errors by first-order perturbation of an eigenvector."""
    seen = [points_of(contact) for contact in contacts]
    points = np.concatenate(seen)
    covariances = np.repeat(
        [place_covariance(contact) - common for contact in contacts], [len(one) for one in seen], axis=0
    )
    centred = points - points.mean(axis=0)
    _, spreads, axes = np.linalg.svd(centred, full_matrices=False)
    along, across, normal = (upward(axis) for axis in axes)
    spreads = settled_all(spreads)
    spans = tuple(contact.booked.span for contact in contacts)
    reach = centred @ across
    reach_sd = np.sqrt(np.maximum(0.0, np.einsum("i,nij,j->n", across, covariances, across)))
    if np.all(np.abs(reach) <= 3.0 * reach_sd + SAME_M):
        return ContactPlane(
            younger=pair[0],
            older=pair[1],
            strike_deg=None,
            dip_deg=None,
            sd_strike_deg=None,
            sd_dip_deg=None,
            lines=spans,
        )
    dip, direction = dip_of(np.asarray(normal, dtype=np.float64))
    sd_strike, sd_dip = _errors(normal, (along, across), spreads, centred, covariances, dip, direction)
    return ContactPlane(
        younger=pair[0],
        older=pair[1],
        strike_deg=None if direction is None else wrap_360(settled(direction - 90.0 + turn_deg)),
        dip_deg=dip,
        sd_strike_deg=sd_strike,
        sd_dip_deg=sd_dip,
        lines=spans,
    )


def _errors(
    normal: Vectors,
    axes: tuple[Vectors, Vectors],
    spreads: Vectors,
    centred: Vectors,
    covariances: Vectors,
    dip_deg: float,
    direction_deg: float | None,
) -> tuple[float | None, float]:
    """Standard deviations of strike and dip in degrees, to first order from the places."""
    off = np.maximum(0.0, np.einsum("i,nij,j->n", normal, covariances, normal))
    tilt = np.zeros((3, 3))
    for axis, spread in zip(axes, spreads, strict=False):
        if spread > 0.0:
            tilt += np.outer(axis, axis) * float((centred @ axis) ** 2 @ off) / spread**4
    azimuth = np.radians(direction_deg or 0.0)
    down = pole(dip_deg + 90.0, dip_direction_deg=np.degrees(azimuth))
    strike = np.array([np.cos(azimuth), -np.sin(azimuth), 0.0])
    sd_dip = settled(float(np.degrees(np.sqrt(max(0.0, float(down @ tilt @ down))))))
    sine = float(np.sin(np.radians(dip_deg)))
    if direction_deg is None or sine <= 0.0:
        return None, sd_dip
    return settled(float(np.degrees(np.sqrt(max(0.0, float(strike @ tilt @ strike))) / sine))), sd_dip
