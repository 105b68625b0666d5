"""What sentences need of config/ is the same, read alone or with all else."""

from __future__ import annotations

from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.profiles.loading import load_knowledge
from calendar_core.knowledge.profiles.terms import load_terms


def test_terms_are_those_of_all_knowledge() -> None:
    terms, known = load_terms(folder("config")), load_knowledge(folder("config"), ())
    assert {key: term.label for key, term in terms.operations.items()} == {
        key: operation.label for key, operation in known.operations.items()
    }
    assert {key: (one.organisation, one.title, one.year) for key, one in terms.sources.items()} == {
        key: (one.organisation, one.title, one.year) for key, one in known.sources.items()
    }
