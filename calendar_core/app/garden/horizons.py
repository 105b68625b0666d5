"""The horizon of a spot as it is typed and checked: azimuths, and how high what stands there reaches."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated

from pydantic import AfterValidator

from calendar_core.app.shell.errors import Refusal

Points = tuple[tuple[float, float], ...]


def _on_the_compass(points: Points) -> Points:
    for azimuth, height in points:
        if not (0 <= azimuth < 360 and 0 <= height <= 90):
            raise ValueError(
                f"found {azimuth:g}:{height:g}; right would be degrees, an azimuth of 0 (north) to below 360 "
                "and a height of 0 to 90"
            )
    for (azimuth, _), (after, _) in pairwise(points):
        if after <= azimuth:
            raise ValueError(f"found azimuth {after:g} after {azimuth:g}; right would be rising azimuths")
    return points


Horizon = Annotated[Points, AfterValidator(_on_the_compass)]


def horizon_of(text: str) -> Points:
    """Return a horizon as typed; an empty text is an unknown one. Raises Refusal.

    >>> horizon_of("90:10, 180:35")
    ((90.0, 10.0), (180.0, 35.0))
    """
    try:
        pairs = [point.split(":") for point in text.split(",")] if text.strip() else []
        return tuple((float(azimuth), float(height)) for azimuth, height in pairs)
    except ValueError:
        right = "right would be azimuth:height in degrees, such as 90:10,180:35"
        raise Refusal(f"--horizon: found '{text}'; {right}") from None
