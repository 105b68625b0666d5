"""Questions on which growers differ: a profile as the grower has answered them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.knowledge.forms.choices import Choice
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.work import When
    from calendar_core.knowledge.profiles.knowledge import Knowledge


def answered(knowledge: Knowledge, answers: Mapping[str, str]) -> Knowledge:
    """Return the knowledge with the works, holds and places that belong to the answers; defaults fill the rest."""
    chosen = with_defaults(knowledge.choices, answers)
    profiles = {key: as_answered(profile, chosen) for key, profile in knowledge.profiles.items()}
    return knowledge.model_copy(update={"profiles": profiles})


def with_defaults(choices: Mapping[str, Choice], answers: Mapping[str, str]) -> dict[str, str]:
    """Return the answer to every question: the grower's, or the default."""
    return {key: answers.get(key, choice.default) for key, choice in choices.items()}


def as_answered(profile: Profile, chosen: Mapping[str, str]) -> Profile:
    """Return a profile with the works, holds and places that belong to the answers ``chosen``, one for every question."""
    works = [
        work.model_copy(update={"holds": tuple(hold for hold in work.holds if _holds(hold.when, chosen))})
        if any(hold.when for hold in work.holds)
        else work
        for work in profile.work
        if _holds(work.when, chosen)
    ]
    places = {
        "shelter": tuple(shelter for shelter in profile.shelter if _holds(shelter.when, chosen)),
        "shade": tuple(shade for shade in profile.shade if _holds(shade.when, chosen)),
    }
    return profile.model_copy(update={"work": tuple(works), **places})


def _holds(when: When | None, chosen: Mapping[str, str]) -> bool:
    return when is None or chosen.get(when.choice) == when.option


def asked_of(profile: Profile, choices: Mapping[str, Choice]) -> list[str]:
    """Return the questions whose answers change the works of a profile."""
    whens = [work.when for work in profile.work]
    whens += [shelter.when for shelter in profile.shelter] + [shade.when for shade in profile.shade]
    whens += [h.when for work in profile.work for h in work.holds]
    named = {when.choice for when in whens if when is not None}
    return [key for key in choices if key in named]
