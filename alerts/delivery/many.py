"""Whatever Apprise reaches: an optional extra, one URL a channel."""

from __future__ import annotations

from typing import Any

from alerts.notices import Message, Permanent, Result, Retry, Sent

INSTALL = "pip install 'leafclock[apprise]'"
PERSONAL = frozenset(
    {"discord", "gotifys", "mailtos", "matrixs", "msteams", "ntfy", "ntfys", "pover", "rocket", "signals", "slack", "tgram",
     "threema", "twilio", "zulip"}
)  # fmt: skip
"""URL schemes of services that carry a short text to people; others reach files, desktops and bare hosts."""


def scheme_of(address: str) -> str:
    """Return the scheme of a URL. Raises ValueError when it is not among those allowed."""
    scheme = address.partition("://")[0].lower() if "://" in address else ""
    if scheme not in PERSONAL:
        found = f"begins with '{scheme}://'" if scheme else "has no scheme"
        raise ValueError(
            f"the address {found}; right would be one of {', '.join(sorted(PERSONAL))}, then ://"
        )
    return scheme


def send_by_apprise(message: Message) -> Result:
    """Hand a message to Apprise. It tells success or failure, never whether a failure is for good."""
    try:
        scheme_of(message.channel.address)
        apprise = _module()
    except ValueError as error:
        return Permanent(str(error))
    except ModuleNotFoundError:
        return Retry(f"Apprise is not installed: {INSTALL}")
    service = apprise.Apprise(asset=apprise.AppriseAsset(async_mode=False, secure_logging=True))
    if not service.add(message.channel.address):
        return Permanent("Apprise cannot read the address")
    done = service.notify(title=message.notice.subject, body=message.notice.text, body_format="text")
    return Sent() if done else Retry("Apprise could not hand it over", unsure=True)


def _module() -> Any:
    import apprise  # noqa: PLC0415 - optional, and half a second to import

    apprise.manager_plugins.NotificationManager().enable_only(*PERSONAL)  # type: ignore[no-untyped-call]
    return apprise
