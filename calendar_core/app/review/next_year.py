"""What a round comes to: the heavy work of the coming year on the grower's weeks, and what it takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.app.plan.walks import review_plan
from calendar_core.app.shell.quiet import quiet_library
from calendar_core.app.work.fertilizing import Can, advice
from calendar_core.garden.hours import free_minutes, weekly
from calendar_core.planning.review.next_year import YEAR_DAYS, NextYear, next_year
from calendar_core.planning.review.supplies import Supplies, YearOfFeeding, supplies

if TYPE_CHECKING:
    from collections.abc import Iterator

    from calendar_core.app.shell.session import Session

NO_CAN = Can(None, 1.0)
YEAR_WEEKS = 52


@dataclass(frozen=True)
class YearAhead:
    """The coming year and its supplies; ``usual_hours`` where the grower wrote none down."""

    year: NextYear
    supplies: Supplies
    usual_hours: bool


def year_ahead(session: Session) -> YearAhead:
    """Return the heavy work of the coming year, in the time that walks of the review leave, and what the year takes."""
    free = free_minutes(session.entries, session.today, YEAR_DAYS)
    for walk in review_plan(session).round.walks if session.trees else ():
        place = (walk.on - session.today).days
        free[place] = max(0, free[place] - walk.minutes)
    with quiet_library():
        found = next_year(session.plan, session.grove, session.knowledge, np.asarray(free, dtype=np.int64))
    bought = supplies(session.plan, found, session.grove, session.knowledge, _feeding(session))
    return YearAhead(found, bought, weekly(session.entries, session.today) is None)


def _feeding(session: Session) -> Iterator[YearOfFeeding]:
    for given in advice(session, session.trees, NO_CAN, YEAR_WEEKS):
        times = tuple((step.feeding.n_mg_l, len(step.dates)) for step in given.steps if step.dates)
        yield YearOfFeeding(given.tree_id, given.pot_takes_l, times)
