"""Follow-ups as items: when the next look at each piece of work and each watched part is due, until it is closed."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.aftercare.followed import Followed, ended, followed, last_day
from calendar_core.planning.aftercare.held_shoots import HeldShoots
from calendar_core.planning.aftercare.part_growth import READY, foretold
from calendar_core.planning.items import OF_PART, Follows, Item, NotPlanned, Range, Reason, item_id
from calendar_core.planning.seasons.axis import HORIZON_DAYS
from calendar_core.planning.seasons.phases import Phases, days_before, upcoming
from calendar_core.planning.waits import in_time, overdue
from calendar_core.science.year.stages import crossing

if TYPE_CHECKING:
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.garden.model import Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.aftercare import Delay, FollowUp
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.seasons.species_stages import SpeciesStages

    Floats = NDArray[np.float64]

LOOK = "look"
SLACK_SHARE, SLACK_DAYS = 1 / 3, (3, 14)
"""A look may come a third of its delay late, 3 to 14 days (estimate: a week on a month)."""
SOONER = 0.5  # of the usual delay after a look that went badly (estimate)
UNDECIDED_DAYS = 30  # after which a part is decided on that has no stage to be decided by (estimate)


class SpeciesFollowUps:
    """The looks due at the trees of one species, and those that are answered or over."""

    def __init__(self, species: str, stages: SpeciesStages, knowledge: Knowledge) -> None:
        self.species, self.stages, self.knowledge = species, stages, knowledge
        self.garden, self.today = stages.grove.garden.id, stages.today
        self.items: list[Item] = []
        self.absent: list[NotPlanned] = []
        held = HeldShoots(self.garden, species, knowledge)
        by_group: dict[int, Phases] = {}
        for tree, group in stages.where:
            state = stages.grove.states[tree.id]
            if not (state.done or state.parts):
                continue
            phases = by_group.setdefault(group, Phases(stages, group, knowledge.growth.heat.base_c))
            found = list(held.found(tree, state, phases))
            self.items += [item for item in found if isinstance(item, Item)]
            self.absent += [absence for absence in found if isinstance(absence, NotPlanned)]
            for rule, form in knowledge.aftercare.items():
                for follow_up in followed(rule, form, state):
                    self._follow(tree, state, follow_up, phases)

    def _follow(self, tree: Tree, state: TreeState, follow_up: Followed, phases: Phases) -> None:
        form = self.knowledge.aftercare[follow_up.rule]
        cycle = self.stages.calendar.cycle(follow_up.born)
        for n, look in enumerate(follow_up.looks):
            self._close(tree, follow_up, cycle, n, Reason("looked", subject=follow_up.rule, found=look.on))
        over = ended(follow_up, form, state, self.today)
        now, part = len(follow_up.looks), follow_up.part
        identity = self._identity(tree, follow_up, cycle, now)
        rests = (
            self.stages.calendar.next_start(state.dropped[identity]) if identity in state.dropped else None
        )
        if over is not None or (rests is not None and self.today < rests):
            reason = Reason("ended" if over else "dropped", subject=follow_up.rule, found=over)
            self._close(tree, follow_up, cycle, now, reason)
            return
        tells, put_off = self._foretold(follow_up, form, state, phases), state.put_off.get(identity)
        ready = form.ready is not None and READY in {reason.code for reason in tells}
        opens = self._opens(follow_up, form, phases, put_off, rests, at_once=ready)
        last = last_day(follow_up, form)
        if opens is None or opens.likely > self.today + timedelta(days=HORIZON_DAYS):
            reason = Reason("look_unknown") if opens is None else Reason("look_later", found=opens.likely)
            self._close(tree, follow_up, cycle, now, reason)
            return
        if last is not None and not follow_up.concern and opens.likely > last:
            self._close(tree, follow_up, cycle, now, Reason("ended", subject=follow_up.rule, found=last))
            return
        about = self._reasons(follow_up, form) + (() if ready else overdue(opens, self.today))
        about += () if put_off is None else (Reason("put_off", found=put_off),)
        reasons = (*reversed(tells), *about) if ready else (*about, *tells)
        self.items.append(
            Item(
                identity, tree.id, self.species, LOOK, _rule(follow_up, now), cycle, state.aim,
                opens, self._closes(follow_up, opens), 1.0, "due", f"{form.look_at} If it is bad: {form.if_bad}",
                reasons, form.cautions, now, shared=True, label=form.ready if ready and form.ready else form.label,
                part=part.name if part else "", part_id=part.id if part else None, measure=form.measure, done=form.done,
                follows=Follows(follow_up.rule, follow_up.entry, part.id if part else None),
            )
        )  # fmt: skip

    def _identity(self, tree: Tree, follow_up: Followed, cycle: int, occurrence: int) -> UUID:
        subject = f"{tree.id}|{follow_up.entry}" + ("" if follow_up.part is None else f"|{follow_up.part.id}")
        return item_id(self.garden, subject, follow_up.rule, cycle, occurrence)

    def _close(self, tree: Tree, follow_up: Followed, cycle: int, occurrence: int, reason: Reason) -> None:
        self.absent.append(NotPlanned(tree.id, LOOK, _rule(follow_up, occurrence), cycle, (reason,)))

    def _opens(
        self,
        follow_up: Followed,
        form: FollowUp,
        phases: Phases,
        put_off: date | None,
        rests: date | None,
        *,
        at_once: bool,
    ) -> Range | None:
        """Return when a look is due: not before it is put off to, nor in the cycle in which it is not wanted."""
        delay = form.again if follow_up.fresh and form.again is not None else form.first
        labels = self._at_once(follow_up) if at_once else self._after(follow_up, delay, phases)
        if follow_up.concern:
            since = self.stages.axis.index(follow_up.since)
            labels = since + SOONER * (labels - since)
        if rests is not None:
            back = float(self.stages.axis.index(rests))
            labels = np.maximum(labels, back if form.season is None else phases.opening(form.season, back))
        if form.season is not None:
            labels = phases.in_season(labels, form.season)
        if put_off is not None:
            labels = np.maximum(labels, self.stages.axis.index(put_off))
        return phases.range_of(labels)

    def _at_once(self, follow_up: Followed) -> Floats:
        """Return the day of the last look, or the first of this cycle where the part had to wait for that."""
        after = self.stages.calendar.next_start(self.today)
        begins = after.replace(year=after.year - 1)
        return np.array([float(self.stages.axis.index(max(follow_up.since, begins)))])

    def _after(self, follow_up: Followed, delay: Delay, phases: Phases) -> Floats:
        """Return when a delay is over, counted from the last look."""
        since = float(self.stages.axis.index(follow_up.since))
        if delay.decide_by:
            stage = follow_up.part.decide_by if follow_up.part else ""
            return upcoming(phases.comes(stage), since) if stage else np.array([since + UNDECIDED_DAYS])
        if delay.heat is not None:
            sums, early = self.stages.air.degree_day_sum(delay.heat.base_c), days_before(since)
            at = min(int(since + early), sums.shape[1] - 1)
            return crossing(sums, (sums[:, at] + delay.heat.sum)[:, None])[:, 0] - early
        if delay.by == "wire looks":
            return phases.wire_bites(since)
        days = 7 * delay.weeks if delay.weeks is not None else delay.days or 0.0
        if delay.phase is None or (delay.phase == "growth" and phases.grows_on(since)):
            return np.array([since + days])
        return upcoming(phases.begins(delay.phase), since) + days

    def _foretold(
        self, follow_up: Followed, form: FollowUp, state: TreeState, phases: Phases
    ) -> list[Reason]:
        if form.forecast is None or follow_up.part is None:
            return []
        return foretold(form.forecast, follow_up.part, state, phases, self.knowledge.growth)

    def _closes(self, follow_up: Followed, opens: Range) -> Range:
        """Return until when the look is in time; one that is late stays open, week by week."""
        least, most = SLACK_DAYS
        slack = min(max(SLACK_SHARE * (opens.likely - follow_up.since).days, least), most)
        return in_time(opens, int(slack), self.today)

    def _reasons(self, follow_up: Followed, form: FollowUp) -> tuple[Reason, ...]:
        subject = follow_up.operation or (follow_up.part.kind if follow_up.part else "")
        out = [
            Reason(
                "follows" if follow_up.operation else "watched",
                subject=subject,
                found=follow_up.on,
                basis=form.basis,
                source=form.source or "",
                note=form.note or "",
            )
        ]
        if follow_up.last is not None:
            out.append(Reason("concern" if follow_up.concern else "looked_well", found=follow_up.last.on))
        if follow_up.part is not None:
            measures = (follow_up.part.last(what) for what in form.measure)
            out += [
                Reason(
                    "measured",
                    subject=m.what,
                    found=m.value,
                    needed=m.on,
                    unit="mm" if m.what != "pairs" else "",
                )
                for m in measures
                if m is not None
            ]
        return tuple(out)


def _rule(follow_up: Followed, occurrence: int) -> str:
    """Return the rule of an item: of each part of an entry, though what is logged together shares an event."""
    part = "" if follow_up.part is None else f"{OF_PART}{follow_up.part.id.hex[:8]}"
    return f"{follow_up.rule}#{follow_up.entry.hex[:8]}.{occurrence}{part}"
