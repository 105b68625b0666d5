"""What the measurements of a part foretell: a wound closed, a graft that may be severed, a leader in the lead."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.items import Reason
from calendar_core.science.tree.closing import closing_days, closing_prior, closing_years, posterior
from calendar_core.science.tree.graft import graft_state
from calendar_core.science.tree.leader import leader_state

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from calendar_core.garden.parts import Part
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.growth import Growth
    from calendar_core.planning.seasons.phases import Phases

READY = "graft_ready"  # the code of the reason by which a look becomes the work itself
SURELY = 0.9  # of the members: only where the late end of eight in ten is on the axis can a day be told
THIRD = 1 / 3


def foretold(kind: str, part: Part, state: TreeState, phases: Phases, growth: Growth) -> list[Reason]:
    """Return what a forecast of a kind ("closing", "graft", "leader") says of a part; nothing without measurements."""
    return _FORECASTS[kind](part, state, phases, growth)


def _closing(part: Part, state: TreeState, phases: Phases, growth: Growth) -> list[Reason]:
    course = part.course("width")
    if not course or course[-1].value <= 0 or phases.heat_a_year <= 0:
        return []
    rule, widths = growth.closing, [m.value for m in course]
    shares = [(rule.in_a_pot.low, rule.in_a_pot.high), *_height_share(part, state, growth)]
    pace = rule.mm_a_year(state.vigour)
    prior = closing_prior(
        pace, phases.heat_a_year, shares, width_mm=max(widths), width_power=rule.width_power.value
    )
    heat_at = [phases.heat_on(m.on) for m in course]
    rate = posterior(prior, widths, heat_at)
    days = closing_days(rate, widths, heat_at, phases.heat)
    paced = max(heat_at) > min(heat_at)  # a pace was measured only with growth in between
    rests = partial(
        replace, basis="estimate", source=rule.moderate_mm_a_year.source or "", note=rule.in_a_pot.note or ""
    )
    closes = phases.range_of(days) if np.isfinite(days).mean() > SURELY else None
    if closes is None:
        early, late = (round(years, 1) for years in closing_years(rate, widths[-1], phases.heat_a_year))
        code = "closes_in_years" if paced else "usually_closes_in_years"
        return [rests(Reason(code, found=early, needed=late))]
    if closes.likely < phases.stages.today:
        code = "closed_by_now" if paced else "usually_closed_by_now"
        return [rests(Reason(code, found=closes.likely))]
    code = "closes_by" if paced else "usually_closes_by"
    return [rests(Reason(code, subject=closes.likely.isoformat(), found=closes.early, needed=closes.late))]


def share_of_height(part: Part, state: TreeState) -> float | None:
    """Return how high up its tree a part sits (0 to 1), None where either height is not known.

    A tree that was not measured is taken to be as high as the highest of its parts.
    """
    tall = next((m.value for m in reversed(state.measures) if m.what == "height"), None)
    tops = [p.height_mm for p in state.parts.values() if p.height_mm is not None]
    top = tall if tall is not None else max(tops, default=0.0)
    if part.height_mm is None or not top or (len(tops) < 2 and tall is None):
        return None
    return part.height_mm / top


def _height_share(part: Part, state: TreeState, growth: Growth) -> list[tuple[float, float]]:
    """Return what its height on the tree makes of the pace; nothing where either height is not known."""
    share = share_of_height(part, state)
    if share is None:
        return []
    span = growth.closing.upper if share > 1 - THIRD else growth.closing.lower if share < THIRD else None
    return [] if span is None else [(span.low, span.high)]


def _graft(part: Part, state: TreeState, phases: Phases, growth: Growth) -> list[Reason]:
    del state
    exits = {m.on: m.value for m in part.course("exit") if m.value > 0}
    looks = [(m.on, m.value, exits[m.on]) for m in part.course("entry") if m.on in exits and m.value > 0]
    if not looks:
        return []
    wanted = growth.graft.ratio
    days = [float(day.toordinal()) for day, _, _ in looks]
    graft = graft_state([e for _, e, _ in looks], [x for _, _, x in looks], days, threshold=wanted.value)
    out = [
        Reason(
            "graft_ratio",
            found=round(graft.ratio, 2),
            needed=wanted.value,
            basis=wanted.basis,
            note=wanted.note or "",
        )
    ]
    if graft.ready:
        out.append(_severed_from(part, phases))
    return out


def _severed_from(part: Part, phases: Phases) -> Reason:
    """Return that a graft may be severed, or from which day or cycle: however thick it is, it wants its time."""
    aftercare, today, cycle = (
        phases.stages.profile.aftercare,
        phases.stages.today,
        phases.stages.calendar.cycle,
    )
    if aftercare.graft_weeks is not None:
        day = part.since + timedelta(weeks=aftercare.graft_weeks.low)
        return Reason("graft_ready") if today >= day else Reason("graft_waits", found=day)
    first = cycle(part.since) + (1 if aftercare.graft_seasons is None else round(aftercare.graft_seasons.low))
    return Reason("graft_ready") if cycle(today) >= first else Reason("graft_waits", found=float(first))


def _leader(part: Part, state: TreeState, phases: Phases, growth: Growth) -> list[Reason]:
    del phases
    own = part.last("diameter")
    if own is None or own.value <= 0:
        return []
    others = [
        (p, m.value)
        for p in state.open_parts
        if p.id != part.id and p.kind in ("branch", "sacrifice branch", "apex")
        if (m := p.last("diameter")) is not None and m.value > 0
    ]
    trunk = next((m.value for m in reversed(state.measures) if m.what == "diameter" and m.value > 0), None)
    rule = growth.leader
    leader = leader_state(own.value, [value for _, value in others], trunk, share=rule.rivals_from.value)
    out = []
    if leader.ratio is not None:
        out.append(
            Reason(
                "leader_ratio",
                found=round(leader.ratio, 2),
                needed=rule.of_the_trunk.value,
                basis=rule.of_the_trunk.basis,
            )
        )
    if leader.cut_back:
        names = ", ".join(others[place][0].name for place in leader.cut_back)
        out.append(
            Reason("rivals", subject=names, basis=rule.rivals_from.basis, note=rule.rivals_from.note or "")
        )
    return out


_FORECASTS: Mapping[str, Callable[[Part, TreeState, Phases, Growth], list[Reason]]] = {
    "closing": _closing,
    "graft": _graft,
    "leader": _leader,
}
