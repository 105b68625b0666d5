"""Everything in config/, as one value."""

from __future__ import annotations

from calendar_core.species.based import Strict
from calendar_core.species.cautions import Caution
from calendar_core.species.choices_form import Choice
from calendar_core.species.exposure_rules import Exposure
from calendar_core.species.feeding import FeedingRules
from calendar_core.species.follow_rules import FollowUp
from calendar_core.species.growth_rules import Growth
from calendar_core.species.hazards import Hazards
from calendar_core.species.pests import Pest
from calendar_core.species.place_rules import PlaceRules
from calendar_core.species.schema import Profile
from calendar_core.species.show import ShowStep
from calendar_core.species.sources import Source
from calendar_core.species.spacing_rules import SpacingRules
from calendar_core.species.vocabulary import Operation
from calendar_core.species.warning_rules import WarningRules


class Knowledge(Strict):
    """Everything in config/, checked as a whole."""

    profiles: dict[str, Profile]
    operations: dict[str, Operation]
    cautions: dict[str, Caution]
    sources: dict[str, Source]
    hazards: Hazards
    pests: dict[str, Pest]
    choices: dict[str, Choice]
    feeding: FeedingRules
    aftercare: dict[str, FollowUp]
    growth: Growth
    spacing: SpacingRules
    exposure: Exposure
    warnings: WarningRules
    show: dict[str, ShowStep]
    places: PlaceRules
