"""What is raised where config/ is not right."""

from __future__ import annotations


class KnowledgeError(ValueError):
    """Faults in config/, one line each in ``faults``: file, key, what was found, what would be right."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults
