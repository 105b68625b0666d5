"""A new leader: its thickness beside the trunk's and beside that of the branches it competes with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class LeaderState:
    """How a leader stands.

    ``ratio`` is leader by trunk, None where the trunk was not measured; ``shares`` (n,) are competitors by leader;
    ``cut_back`` are the places of those to cut back, the thickest first.
    """

    ratio: float | None
    shares: tuple[float, ...]
    cut_back: tuple[int, ...]


def leader_state(
    leader_mm: float, competitors_mm: Sequence[float], trunk_mm: float | None = None, *, share: float
) -> LeaderState:
    """Return how thick a leader is beside trunk and competitors, and which of these to cut back.

    Parameters
    ----------
    leader_mm, trunk_mm : [mm]
        Diameters of the leader at its base and of the trunk just below it.
    competitors_mm : (n,) [mm]
        Diameters of the branches that compete, at their bases.
    share : scalar
        A competitor thicker than this share of the leader is to be cut back.

    Raises
    ------
    ValueError
        For a diameter that is not above 0.

    Source
    ------
    Common practice: what is thicker draws more sap. The share is the caller's, with its basis.

    Examples
    --------
    >>> state = leader_state(6.0, [3.0, 5.0, 7.5], 10.0, share=0.75)
    >>> state.ratio, state.shares, state.cut_back
    (0.6, (0.5, 0.8333333333333334, 1.25), (2, 1))
    """
    for diameter in (leader_mm, *competitors_mm, 1.0 if trunk_mm is None else trunk_mm):
        if not diameter > 0.0:
            raise ValueError(f"diameter {diameter}: must be above 0 mm")
    shares = tuple(each / leader_mm for each in competitors_mm)
    rivals = [place for place, each in enumerate(shares) if each > share]
    return LeaderState(
        None if trunk_mm is None else leader_mm / trunk_mm,
        shares,
        tuple(sorted(rivals, key=lambda place: -shares[place])),
    )
