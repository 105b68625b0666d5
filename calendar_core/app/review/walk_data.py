"""Walks as data."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from calendar_core.app.plan.walks import ReviewPlan
    from calendar_core.planning.review.walks import Stop


def walk_data(found: ReviewPlan) -> dict[str, object]:
    """Return walks, what has no day, and the days on which there can be none."""
    return {
        "proven": found.round.proven,
        "walks": [
            {
                "on": walk.on,
                "minutes": walk.minutes,
                "sunset": walk.day.sunset,
                "stops": [_stop(stop) for stop in walk.stops],
            }
            for walk in found.round.walks
        ],
        "left": [_stop(stop) for stop in found.round.left],
        "not_on": [{"day": day.day, "why": day.why_not} for day in found.days if day.why_not is not None],
    }


def _stop(stop: Stop) -> dict[str, object]:
    window = stop.window
    return {
        "tree_id": stop.tree_id,
        "label": stop.label,
        "spot": stop.spot,
        "round": window.round,
        "cycle": window.cycle,
        "opens": window.opens,
        "closes": window.closes,
        "chance": window.chance,
        "depth": stop.depth,
        "minutes": round(stop.minutes, 1),
        "turn": stop.turn,
        "why": stop.why,
        "when": window.reasons,
    }
