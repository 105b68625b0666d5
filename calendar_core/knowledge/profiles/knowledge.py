"""Everything in config/, as one value."""

from __future__ import annotations

from calendar_core.knowledge.forms.aftercare import FollowUp
from calendar_core.knowledge.forms.based import Strict
from calendar_core.knowledge.forms.cautions import Caution
from calendar_core.knowledge.forms.choices import Choice
from calendar_core.knowledge.forms.exposure import Exposure
from calendar_core.knowledge.forms.feeding import FeedingRules
from calendar_core.knowledge.forms.growth import Growth
from calendar_core.knowledge.forms.hazards import Hazards
from calendar_core.knowledge.forms.operations import Operation
from calendar_core.knowledge.forms.pests import Pest
from calendar_core.knowledge.forms.places import PlaceRules
from calendar_core.knowledge.forms.review import ReviewRules
from calendar_core.knowledge.forms.show import ShowStep
from calendar_core.knowledge.forms.sources import Source
from calendar_core.knowledge.forms.spacing import SpacingRules
from calendar_core.knowledge.forms.species.profile import Profile
from calendar_core.knowledge.forms.warnings import WarningRules


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
    review: ReviewRules
