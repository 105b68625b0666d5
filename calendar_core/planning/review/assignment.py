"""Looks put on days, or jobs on weeks, so that the least is left out: exactly where they are few, else nearly so.

A mixed-integer program solved by HiGHS. Of many looks the linear program, which may split a look between days, is
solved first: it leaves no more looks split than there are days, and those are chosen again with what it left out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

EXACT_CELLS = 400  # pairs of look and day up to which all is chosen at once: seconds at worst
NODES = 200  # branches the solver may search; then its best is taken, and not called proven
GAP = 0.01  # of the second choice among many: far less than the looks that the first may lose
AGAIN = 0.08  # share of the looks that lie on one day, those worth least a minute, that are chosen again too
"""With these the answer kept 98 % and more of what no answer can pass (made-up rounds of 300 trees), in two seconds."""
WHOLE = 1 - 1e-6  # of a look that lies on one day
NOWHERE = -1


def assigned(
    worth: Ints, minutes: Ints, open_on: Bools, room: Ints, rivals: Ints | None = None
) -> tuple[list[int], bool]:
    """Return the day of each look, `NOWHERE` where it has none, and whether no other choice keeps more worth.

    Parameters
    ----------
    worth, minutes : (n_looks,)
        What a look is worth, whole numbers, and how long it takes [min].
    open_on : (n_looks, n_days)
        Whether a look may be on a day.
    room : (n_days,)
        The minutes of each day.
    rivals : (n_looks,)
        Whole numbers from 0: of those with the same one at most one has a day. Nobody has rivals where they are not given.

    Of equal choices one is taken in which what is worth most comes early.
    """
    out = np.full(len(worth), NOWHERE)
    of = np.arange(len(worth)) if rivals is None else rivals
    left = room.astype(float)
    look, day = np.nonzero(open_on & (minutes[:, None] <= room))
    if not look.size:
        return out.tolist(), True
    few = look.size <= EXACT_CELLS
    if not few:
        share, _ = _solved(worth, minutes, of, look, day, left, whole=False)
        taken = share > WHOLE
        density = worth / minutes
        taken &= density[look] >= np.quantile(density[look[taken]], AGAIN) if taken.any() else taken
        out[look[taken]] = day[taken]
        left -= np.bincount(day[taken], minutes[look[taken]], len(room))
        rest = ~np.isin(of[look], of[out != NOWHERE]) & (minutes[look] <= left[day])
        look, day = look[rest], day[rest]
    proven = few
    if look.size:
        share, solved = _solved(worth, minutes, of, look, day, left, whole=True)
        taken = share > 0.5
        out[look[taken]] = day[taken]
        proven = few and solved
    return out.tolist(), proven


def _solved(
    worth: Ints, minutes: Ints, of: Ints, look: Ints, day: Ints, room: Floats, *, whole: bool
) -> tuple[Floats, bool]:
    """Return the share of each look on each day (n_cells,), and whether that is proven to be best."""
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 - slow to load, and nothing else needs it
    from scipy.sparse import csr_array  # noqa: PLC0415

    cells = np.arange(look.size)
    once = csr_array((np.ones(look.size), (of[look], cells)), shape=(of.max() + 1, look.size))
    used = csr_array((minutes[look].astype(float), (day, cells)), shape=(len(room), look.size))
    early = worth[look] * day / (2.0 * len(room) * worth.sum())  # all together less than any look is worth
    few = look.size <= EXACT_CELLS
    found = milp(
        early - worth[look],
        constraints=[LinearConstraint(once, -np.inf, 1.0), LinearConstraint(used, -np.inf, room)],
        integrality=int(whole),
        bounds=Bounds(0, 1),
        options={"node_limit": NODES, "mip_rel_gap": 0.0 if few else GAP},
    )
    return (np.zeros(look.size) if found.x is None else found.x), found.status == 0
