"""From threats to changes of warnings; a flickering forecast changes nothing."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING, Literal

from alerts.policy import cap
from alerts.policy.standing import Standing, warning_id

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from datetime import date, datetime
    from uuid import UUID

    from alerts.air.hours import Span
    from alerts.notices import Action
    from alerts.threats import Level, Threat
    from calendar_core.knowledge.forms.warnings import WarningRules
    from calendar_core.knowledge.words import Hazard

    Key = tuple[Hazard, date]

What = Literal["danger", "earlier", "later", "longer"]


@dataclass(frozen=True, slots=True)
class WarningChange:
    """What a judgement makes of one warning.

    ``action`` is None where nobody is told and ``standing`` is only to be remembered. ``threats`` are those of the
    trees it names, most endangered first; ``what`` says what made it change, ``before`` is how it stood.
    ``cap`` are further fields of the Common Alerting Protocol, ``references`` the notices it follows.
    """

    action: Action | None
    standing: Standing
    threats: tuple[Threat, ...] = ()
    what: tuple[What, ...] = ()
    before: Standing | None = None
    cap: Mapping[str, str] | None = None
    references: tuple[str, ...] = ()


def stale(forecast_at: datetime, now: datetime, rules: WarningRules) -> bool:
    """Return whether a forecast is too old to judge by."""
    return now - forecast_at > timedelta(hours=rules.stale_h.value)


def judge(
    garden_id: UUID,
    threats: Iterable[Threat],
    standings: Iterable[Standing],
    forecast_at: datetime,
    now: datetime,
    rules: WarningRules,
    unseen: Sequence[Span] = (),
    untold: Collection[UUID] = (),
) -> tuple[WarningChange, ...]:
    """Return what is to be told and remembered, danger first; nothing on a forecast too old to judge by.

    Parameters
    ----------
    garden_id : UUID
        The garden.
    threats : iterable of Threat
        All that the hazards of the garden's trees found.
    standings : iterable of Standing
        Its warnings of these days, withdrawn and passed ones too: they may come again.
    forecast_at, now : datetime
        When the forecast was made, and the present moment; aware.
    rules : WarningRules
        config/warnings.toml.
    unseen : sequence of Span
        Of when the forecast tells nothing: a warning that is not found there is not missed.
    untold : collection of UUID
        The warnings that hold and of which nobody was told: where they are found they are raised as new.
    """
    if stale(forecast_at, now, rules):
        return ()
    by_key: dict[Key, list[Threat]] = defaultdict(list)
    for threat in threats:
        if threat.ends > now:
            by_key[threat.hazard, threat.day].append(threat)
    known = {
        (standing.hazard, standing.day): _set_right(standing, forecast_at, now) for standing in standings
    }
    court = _Court(garden_id, forecast_at, now, rules, unseen)
    changes = []
    for key in sorted(by_key.keys() | known.keys(), key=lambda key: (key[1], key[0])):
        before = known.get(key)
        told = before is not None and before.state == "active" and before.id not in untold
        changes.append(court.judge(key, by_key.get(key, []), before, told=told))
    return tuple(sorted((change for change in changes if change is not None), key=_rank))


def _set_right(standing: Standing, forecast_at: datetime, now: datetime) -> Standing:
    """Return a warning that was found by a clock ahead of time as if its forecast were older than the newest.

    Else every forecast since would count for nothing.
    """
    if standing.forecast_at <= max(now, forecast_at):
        return standing
    return replace(standing, forecast_at=forecast_at - timedelta(seconds=1))


def _rank(change: WarningChange) -> tuple[bool, int]:
    """Return the place of a change: danger first, and what threatens many trees before what threatens few."""
    return change.standing.severity not in cap.DANGER_SEVERITIES, -len(change.standing.levels)


def level_of(threat: Threat, told: Level | None, rules: WarningRules) -> Level | None:
    """Return the level of a threat; one that was told is kept from a lower chance, or by its margin."""
    if _holds(threat, "danger", rules, kept=told == "danger"):
        return "danger"
    return "caution" if _holds(threat, "caution", rules, kept=told is not None) else None


def _worse(level: Level | None, other: Level | None) -> Level | None:
    return "danger" if "danger" in (level, other) else level or other


def by_danger(threats: Iterable[Threat], levels: Mapping[UUID, Level]) -> tuple[Threat, ...]:
    """Return threats with the most endangered tree first."""
    return tuple(
        sorted(threats, key=lambda threat: (levels[threat.tree] != "danger", -_beyond(threat), threat.tree))
    )


def _hours(threats: Sequence[Threat]) -> tuple[datetime, datetime]:
    return min(threat.begins for threat in threats), max(threat.ends for threat in threats)


def _beyond(threat: Threat) -> float:
    """Return how far the bad course goes beyond the line of caution, in steps from it to that of danger."""
    step = threat.danger - threat.caution
    return (threat.bad - threat.caution) / step if step else threat.bad - threat.caution


def _holds(threat: Threat, level: Level, rules: WarningRules, *, kept: bool) -> bool:
    at_danger = level == "danger"
    chance, rule = threat.chances[at_danger], rules.danger if at_danger else rules.caution
    if not kept:
        return chance >= rule.raised_from
    line = threat.danger if at_danger else threat.caution
    falling = threat.danger < threat.caution
    typical = threat.deep if at_danger and threat.deep is not None else threat.typical
    over = line - typical if falling else typical - line
    return chance >= rule.kept_from or over >= -rules.hazard[threat.hazard].margin


@dataclass(frozen=True, slots=True)
class _Court:
    """One judgement."""

    garden_id: UUID
    forecast_at: datetime
    now: datetime
    rules: WarningRules
    unseen: Sequence[Span]

    def judge(
        self, key: Key, threats: Sequence[Threat], before: Standing | None, *, told: bool
    ) -> WarningChange | None:
        standing = before if told else None
        levels_told = standing.levels if standing else {}
        found = {
            threat.tree: level_of(threat, levels_told.get(threat.tree), self.rules) for threat in threats
        }
        if not any(found.values()):
            return self._miss(standing) if standing else None
        # One forecast takes back neither a tree nor its danger while the warning stands: the next may bring it again.
        levels = {tree: level for tree, now in found.items() if (level := _worse(now, levels_told.get(tree)))}
        held = by_danger((threat for threat in threats if threat.tree in levels), levels)
        return self._keep(standing, held, levels) if standing else self._raise(key, held, levels, before)

    def _raise(
        self, key: Key, held: tuple[Threat, ...], levels: Mapping[UUID, Level], before: Standing | None
    ) -> WarningChange | None:
        """Return a new warning, or one that comes again, if it is near enough."""
        ahead = min(threat.begins for threat in held) - self.now
        if ahead > timedelta(hours=self.rules.ahead_h.value):
            return None
        made = self._standing(key, held, levels, revision=1)
        if before is not None:
            again = before.state == "withdrawn"
            made = replace(made, revision=before.revision + 1, returned=before.returned + again)
        return self._told("new", made, held)

    def _keep(
        self, before: Standing, held: tuple[Threat, ...], levels: Mapping[UUID, Level]
    ) -> WarningChange | None:
        what = self._what_changed(before, held, levels)
        if what:
            after = self._standing((before.hazard, before.day), held, levels, before.revision + 1)
            onset, expires = self._with_unseen(before, after)
            after = replace(
                after,
                onset=onset,
                expires=expires,
                changes=before.changes + 1,
                returned=before.returned,
                sent=before.sent,
            )
            return self._told("update", after, held, what, before)
        # An older forecast that comes after a newer one must not make the newer count twice.
        forecast_at = max(before.forecast_at, self.forecast_at)
        remembered = replace(before, missed=0, forecast_at=forecast_at)
        return None if remembered == before else WarningChange(None, remembered, held)

    def _with_unseen(self, before: Standing, after: Standing) -> Span:
        """Return the hours of a changed warning with those it had of which the forecast tells nothing now.

        What has begun stays begun, though hours that are over are judged no more.
        """
        onset, expires = after.onset, after.expires
        if self.now >= before.onset or not self._sees(before.onset, onset):
            onset = min(before.onset, onset)
        if not self._sees(expires, before.expires):
            expires = before.expires
        return onset, expires

    def _sees(self, begin: datetime, end: datetime) -> bool:
        """Tell whether the forecast tells of all that lies between two moments."""
        return not any(first < end and begin < last for first, last in self.unseen)

    def _miss(self, before: Standing) -> WarningChange | None:
        """Return that a warning was not found: by enough new forecasts in a row it is withdrawn, unless begun.

        Each time it came back it takes twice as many, lest it goes to and fro from day to day (estimate).
        """
        if self.now >= before.onset or self.forecast_at <= before.forecast_at:
            return None
        if not self._sees(before.onset, before.expires):
            return None
        missed = replace(before, missed=before.missed + 1, forecast_at=self.forecast_at)
        if missed.missed < self.rules.withdrawn_after.value * 2**before.returned:
            return WarningChange(None, missed)
        after = replace(missed, state="withdrawn", revision=before.revision + 1)
        return self._told("withdraw", after, held=(), before=before)

    def _what_changed(
        self, before: Standing, held: Sequence[Threat], levels: Mapping[UUID, Level]
    ) -> tuple[What, ...]:
        """Return what a grower would act on: a tree newly in danger, other hours of the trees that were told."""
        rule = self.rules.change
        earlier, later = timedelta(hours=rule.earlier_h), timedelta(hours=rule.later_h)
        danger = any(
            levels[threat.tree] == "danger" and before.levels.get(threat.tree) != "danger" for threat in held
        )
        what: list[What] = ["danger"] if danger else []
        named = [threat for threat in held if threat.tree in before.levels and _beyond(threat) >= 0.0]
        if named and before.changes < rule.most:
            begins, ends = _hours(named)
            if self.now < before.onset and before.onset - begins >= earlier:
                what.append("earlier")
            shifted = begins - before.onset >= later and self._sees(before.onset, begins)
            if self.now < before.onset and shifted:
                what.append("later")
            if ends - before.expires >= later:
                what.append("longer")
        return tuple(what)

    def _standing(
        self, key: Key, held: Sequence[Threat], levels: Mapping[UUID, Level], revision: int
    ) -> Standing:
        hazard, day = key
        worst = "danger" in levels.values()
        begins, ends = _hours([threat for threat in held if _beyond(threat) >= 0.0] or held)
        return Standing(
            id=warning_id(self.garden_id, hazard, day),
            hazard=hazard,
            day=day,
            state="active",
            revision=revision,
            severity=self.rules.hazard[hazard].severity[worst],
            onset=begins,
            expires=ends,
            levels={threat.tree: levels[threat.tree] for threat in held},
            forecast_at=self.forecast_at,
        )

    def _told(
        self,
        action: Action,
        after: Standing,
        held: tuple[Threat, ...],
        what: tuple[What, ...] = (),
        before: Standing | None = None,
    ) -> WarningChange:
        at_danger = after.severity in cap.DANGER_SEVERITIES
        chance = max((threat.chances[at_danger] for threat in held), default=0.0)
        within = timedelta(hours=self.rules.likely_within_h.value)
        fields = cap.fields(self.garden_id, after, action, chance, within, self.now)
        sent = (*after.sent, cap.reference(self.garden_id, after, self.now))
        return WarningChange(action, replace(after, sent=sent), held, what, before, fields, after.sent)
