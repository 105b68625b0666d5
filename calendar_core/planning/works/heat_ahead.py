"""Work that heat would make a wound of: it waits until no such day is forecast within the days that its caution names.

Where no day of its window is left then, it is not asked for.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.items import Item, NotPlanned, Range, Reason
from calendar_core.planning.seasons.air import expected_maxima

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date

    from calendar_core.knowledge.forms.cautions import Caution
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.weather.traces import Traces


def after_heat(
    items: Iterable[Item], traces: Traces, knowledge: Knowledge, today: date
) -> tuple[list[Item], list[NotPlanned]]:
    """Return items that open once the heat is over that is forecast, and those whose window it outlasts.

    Without a forecast they stay as they are, and so do looks: what was done is looked after in the heat too. Fertilizing
    has lines of heat of its own. Cautions with ``from_c`` [degC] and ``within_days`` tell which heat, and how far ahead
    one looks.
    """
    forecast = traces.known.forecast
    if forecast is None or forecast.to < today:
        return list(items), []
    maxima = expected_maxima(traces, today, (forecast.to - today).days + 1)
    answers = [
        item
        if item.follows or is_feeding(item.operation, knowledge.operations)
        else _waits(item, maxima, knowledge.cautions, today)
        for item in items
    ]
    lost = [absence for absence in answers if isinstance(absence, NotPlanned)]
    return [item for item in answers if isinstance(item, Item)], lost


def _waits(
    item: Item, maxima: Sequence[float], cautions: Mapping[str, Caution], today: date
) -> Item | NotPlanned:
    first = max((item.opens.likely - today).days, 0)
    found = [
        (hot, caution.from_c)
        for caution in (cautions[key] for key in item.cautions)
        if caution.from_c is not None
        and (hot := hot_until(maxima, first, caution.from_c, caution.within_days)) is not None
    ]
    if not found:
        return item
    hot, from_c = max(found)
    until = today + timedelta(days=hot + 1)
    reason = Reason("heat_ahead", found=today + timedelta(days=hot), needed=from_c, unit="degC")
    if until > item.closes.likely:
        lost = Reason("heat_outlasts", found=item.closes.likely)
        return NotPlanned(item.tree_id, item.operation, item.rule, item.cycle, (reason, lost))
    opens = Range(*(max(day, until) for day in (item.opens.early, item.opens.likely, item.opens.late)))
    return replace(item, opens=opens, reasons=(*item.reasons, reason))


def hot_until(maxima: Sequence[float], first: int, from_c: float, within: int) -> int | None:
    """Return the last hot day before a span without one, from a day on; None where the first span has none.

    >>> hot_until([30, 36, 30, 30, 30], 0, 35, 2), hot_until([30, 36, 30, 36], 0, 35, 2), hot_until([30, 30], 0, 35, 2)
    (1, 3, None)
    """
    last = None
    day = first
    while hot := [n for n in range(day, min(day + within + 1, len(maxima))) if maxima[n] >= from_c]:
        last = hot[-1]
        day = last + 1
    return last
