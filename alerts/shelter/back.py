"""The way back into the sun: a tree that has got used to shade returns by steps its leaves can bear."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from uuid import UUID

    from calendar_core.knowledge.forms.exposure import LightRules


def way_back(
    home: UUID, shade: UUID, days_in_shade: int, light_mol: Mapping[UUID, float], rules: LightRules
) -> tuple[tuple[int, UUID], ...]:
    """Return where a tree stands from which day after the shade on, home last; nothing where it may go home at once.

    Each day it goes to the brightest spot whose light is not more above what it is used to than is told of as
    sunburn. Where it has waited so long that its leaves are as used to their place as they will be, it goes to the
    next brighter one all the same.

    Parameters
    ----------
    home, shade : where it stood before, and where it was brought
    days_in_shade : how many days it stays there
    light_mol : by spot, a clear day's light [mol m-2 d-1]
    rules : config/exposure.toml [light]

    Source
    ------
    A running mean of the last days, as in `hazards.sunburn`; its numbers are estimates.

    Examples
    --------
    >>> from calendar_core.knowledge.forms.based import Quantity
    >>> from calendar_core.knowledge.forms.exposure import LightRules, Rising
    >>> said = {"basis": "estimate", "note": "example"}
    >>> of = lambda value: Quantity(value=value, **said)
    >>> rules = LightRules(extra=Rising(caution=0.4, danger=1.0, **said), from_mol=of(20), used_to_days=of(10), mol_an_hour=of(4))
    >>> way_back("bench", "wall", 3, {"bench": 50.0, "wall": 25.0}, rules)
    ()
    >>> way_back("bench", "wall", 14, {"bench": 50.0, "wall": 25.0, "tree": 36.0}, rules)
    ((10, 'tree'), (20, 'bench'))
    """
    span = round(rules.used_to_days.value)
    last = deque([light_mol[home]] * span, maxlen=span)
    last.extend([light_mol[shade]] * min(days_in_shade, span))
    steps: list[tuple[int, UUID]] = []
    at, since, day = shade, 0, 0
    while at != home:
        borne = max(sum(last) / span * (1.0 + rules.extra.caution), rules.from_mol.value)
        brighter = sorted(
            (mol, spot) for spot, mol in light_mol.items() if light_mol[at] < mol < light_mol[home]
        )
        ladder = [*brighter, (light_mol[home], home)]
        fit = [spot for mol, spot in ladder if mol <= borne]
        if fit or day - since >= span:
            at, since = fit[-1] if fit else ladder[0][1], day
            steps.append((day, at))
        last.append(light_mol[at])
        day += 1
    return () if steps == [(0, home)] else tuple(steps)
