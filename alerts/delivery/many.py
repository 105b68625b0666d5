"""Whatever Apprise reaches: an optional extra, one URL and one target a channel."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any

from alerts.delivery.line import PrivateAddressError, reachable, said_of
from alerts.notices import Message, Refused, Result, Retry, Sent
from calendar_core.weather.sources.hosts import is_public

if TYPE_CHECKING:
    from collections.abc import Iterator

INSTALL = "pip install 'leafclock[apprise]'"
PERSONAL = frozenset(
    {"discord", "gotifys", "mailtos", "matrixs", "msteams", "ntfy", "ntfys", "pover", "rocket", "signals", "slack", "tgram",
     "threema", "twilio", "zulip"}
)  # fmt: skip
"""URL schemes of services that carry a short text to people; others reach files, desktops and bare hosts."""
HOSTED = frozenset({"gotifys", "mailtos", "matrixs", "ntfy", "ntfys", "rocket", "signals"})
"""Those whose address may name a host of one's own; with the others that place holds a token."""
ELSEWHERE = frozenset({"cloud", "t2bot"})  # modes in which such an address names no host after all
TARGETS = ("targets", "topics", "rooms", "channels", "users")
"""Attributes in which Apprise's services keep whom they reach (Apprise 1.9 to 2.3)."""
EACH_ITS_OWN = "right would be each as a channel of its own, so that none is told twice when another fails"


def scheme_of(address: str) -> str:
    """Return the scheme of a URL. Raises ValueError when it is not among those allowed."""
    scheme = address.partition("://")[0].lower() if "://" in address else ""
    if scheme not in PERSONAL:
        found = f"begins with '{scheme}://'" if scheme else "has no scheme"
        raise ValueError(
            f"the address {found}; right would be one of {', '.join(sorted(PERSONAL))}, then ://"
        )
    return scheme


def check_service(address: str, *, private_ok: bool) -> None:
    """Refuse an address that Apprise would carry nothing to, or to several. Raises ValueError in one line.

    Where Apprise is not installed only the scheme is looked at.
    """
    scheme = scheme_of(address)
    try:
        service = _module().Apprise.instantiate(address, asset=_asset())
    except ModuleNotFoundError:
        return
    if service is None:
        raise ValueError(
            f"Apprise cannot read the address; right would be one as it writes them for {scheme}://"
        )
    if len(service) > 1:
        raise ValueError(f"the address has {len(service)} targets; {EACH_ITS_OWN}")
    host = _host(scheme, service)
    if not private_ok and (host == "localhost" or (_is_address(host) and not is_public(host))):
        raise ValueError(
            "the address is on this machine or its network; right would be another, or --private"
        )


def send_by_apprise(message: Message) -> Result:
    """Hand a message to Apprise. It tells success or failure, never whether a failure is for good.

    An address with several targets, which is no longer taken, counts as told once one of them has it.
    """
    channel = message.channel
    try:
        scheme = scheme_of(channel.address)
        apprise = _module()
    except ValueError as error:
        return Refused(str(error))
    except ModuleNotFoundError:
        return Retry(f"Apprise is not installed: {INSTALL}")
    service = apprise.Apprise.instantiate(channel.address, asset=_asset())
    if service is None:
        return Refused("Apprise cannot read the address")
    host = _host(scheme, service)
    try:
        if host:
            reachable(host, 0, private_ok=channel.private_ok)
    except PrivateAddressError as error:
        return Refused(str(error))
    except (OSError, ValueError) as error:
        return Retry(f"{host}: {said_of(error)}")
    if len(service) > 1 and not _can_be_parted(service):
        return Refused(f"the address has {len(service)} targets; {EACH_ITS_OWN}")
    took = [_hand_over(apprise, each, message) for each in _one_by_one(service)]
    if all(took):
        return Sent()
    if any(took):
        return Sent(f"only {sum(took)} of the address's {len(took)} targets took it; {EACH_ITS_OWN}")
    return Retry("Apprise could not hand it over", unsure=True)


def _hand_over(apprise: Any, service: Any, message: Message) -> bool:
    sender = apprise.Apprise(service, asset=_asset())
    notice = message.notice
    return bool(sender.notify(title=notice.subject, body=notice.text, body_format="text"))


def _lists(service: Any) -> dict[str, list[Any]]:
    found = {name: getattr(service, name, None) for name in TARGETS}
    return {name: list(each) for name, each in found.items() if isinstance(each, list) and each}


def _can_be_parted(service: Any) -> bool:
    return sum(map(len, _lists(service).values())) == len(service)


def _one_by_one(service: Any) -> Iterator[Any]:
    """Yield a service with one of its targets after the other."""
    whole = _lists(service)
    if len(service) <= 1:
        yield service
        return
    for name, targets in whole.items():
        for target in targets:
            for each in whole:
                setattr(service, each, [target] if each == name else [])
            yield service


def _host(scheme: str, service: Any) -> str:
    """Return the host that a service is at, "" where that is its maker's own."""
    if scheme not in HOSTED or getattr(service, "mode", None) in ELSEWHERE:
        return ""
    return str(getattr(service, "smtp_host", None) or service.host or "").strip("[]")


def _is_address(host: str) -> bool:
    try:
        is_public(host)
    except ValueError:
        return False
    return True


def _asset() -> Any:
    import apprise  # noqa: PLC0415 - as below

    return apprise.AppriseAsset(async_mode=False, secure_logging=True)


def _module() -> Any:
    import apprise  # noqa: PLC0415 - optional, and half a second to import

    logging.getLogger("apprise").setLevel(logging.CRITICAL)  # how it went is told by the result, in one line
    apprise.manager_plugins.NotificationManager().enable_only(*PERSONAL)  # type: ignore[no-untyped-call]
    return apprise
