"""What an entry of each kind says at the least and at the most; invented."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.garden.model import EntryKind

ID = "0d8a7f3e-6b0c-4f6b-9a53-6f2d1c8a4701"

LEAST: Mapping[EntryKind, Mapping[str, Any]] = {
    "state": {},
    "work": {"operation": "wire"},
    "seen": {"stage": "bud_break"},
    "wish": {"operation": "repot"},
    "answer": {"item": ID, "answer": "not this cycle"},
    "choice": {"question": "repotting", "option": "spring"},
    "part": {},
    "measure": {},
    "look": {"rule": "wire", "of": ID},
    "hours": {"weekly": [20, 20, 20, 20, 20, 120, 120]},
    "away": {"from": "2015-08-01", "until": "2015-08-14"},
    "gone": {"why": "sold"},
    "review": {"round": "late summer", "cycle": 2015, "depth": "full"},
    "walk": {"off": "2015-08-01", "on": "2015-08-02", "minutes": 75},
}

ASKED = {"round": "late summer", "cycle": 2015, "answers": {"drainage": 25, "winter": "yes"}}
MORE: Mapping[EntryKind, Mapping[str, Any]] = {
    "state": {
        "aim": "refinement", "vigour": 4, "size": "small", "spot": ID, "pot": "wood", "pot_litres": 3.5, "substrate": "",
    },
    "work": {"share": 0.6, "regret": "too hard", "against": ["never"]},
    "wish": {"cycle": 2016, "anyway": True},
    "answer": {"answer": "put off", "until": "2015-07-01"},
    "part": {
        "kind": "branch", "name": "low left", "height_mm": 40, "side": "left", "directive": "hold", "pairs": 2,
        "decide_by": "leaves_hardened", "instead_of": ID, "decided": "", "gone": True,
    },
    "measure": {"values": {"width": 12.5}},
    "look": {"went": "badly"},
    "hours": {"begins": ["18:30", None, None, None, None, "", None]},
    "gone": {"note": "to Ines"},
    "review": {
        "depth": "glance", "timed_as": "full", "minutes": 9.5, "answers": {"moss": "some"}, "broken_off": True,
    },
}  # fmt: skip
MOST: Mapping[EntryKind, Mapping[str, Any]] = {
    kind: {**least, **MORE.get(kind, {}), "note": "dry", "asked": ASKED} for kind, least in LEAST.items()
}
