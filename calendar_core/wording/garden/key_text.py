"""Words of keys to the pages."""

from __future__ import annotations

KEYS: dict[str, str] = {
    "made": "Made: a key of the {role} for {label}. It is shown this once; enter it on the page that asks for a key:",
    "none": "There are no keys: the pages open on this machine alone, to whoever uses it.",
    "revoked": "Taken back: {label}. Whoever entered with it has to go.",
    "ask": "New password: ",
    "again": "The same again: ",
    "password": "Set: the owner's password. Whoever entered with an earlier one has to enter anew.",
}
