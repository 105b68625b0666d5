"""Phones that are warned by Web Push: subscribed, and subscribed anew."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

from alerts.delivery.carrier import check_address
from alerts.delivery.push import new_key, public_key
from alerts.delivery.subscription import kept
from alerts.notices import Channel
from alerts.outbox.channels import add_channel, remove_channel, renew
from alerts.outbox.push_key import push_key
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import Label, Strict, as_option, checked
from calendar_core.app.shell.receipt import Receipt
from calendar_core.app.warnings.channel_changes import channels_of
from calendar_core.app.warnings.channel_notices import standing_notices, tell_standing
from calendar_core.app.warnings.mailing import leads_to
from calendar_core.wording.warnings.judged_text import CHANNELS, catching_up

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.app.shell.session import Session

MOST = 50  # phones of a garden (estimate: a club's bench has fewer growers)


class _Named(Strict):
    """What a phone is called."""

    name: Label


def subscribing_key(session: Session) -> str:
    """Return the public key that browsers subscribe with; the pair is made the first time."""
    return public_key(push_key(session.store, new_key))


def phones(session: Session) -> tuple[Channel, ...]:
    """Return the phones of a garden."""
    return tuple(channel for channel in channels_of(session) if channel.kind == "push")


def phone_of(session: Session, which: UUID | str | None) -> Channel:
    """Return the phone of an id, or of an endpoint, which none but the phone itself knows. Raises Refusal."""
    for channel in phones(session):
        if which in (channel.id, channel.address):
            return channel
    raise Refusal("this phone is not on the list any more; right would be the page as it is now")


def add_phone(
    session: Session, subscription: Mapping[str, Any], site: str, name: str, before: str = ""
) -> Receipt:
    """Let warnings reach a phone.

    Parameters
    ----------
    session : Session
        The garden, for writing.
    subscription : mapping
        As the phone's browser made it.
    site : str
        The address of the page where it did.
    name : str
        What the phone is called.
    before : str
        The endpoint of the subscription that this one takes the place of.

    Raises
    ------
    Refusal
        When it is no subscription, or there is no room for another phone.
    """
    called = checked(_Named, {"name": name}, as_option).name
    try:
        address, secret = kept(subscription, site)
        made = Channel(uuid4(), session.garden.id, "push", address, secret, called)
        check_address(made)
    except ValueError as error:
        raise Refusal(str(error)) from None
    known, notices = phones(session), standing_notices(session)
    same = _same(known, made, before)
    if not same and len(known) >= MOST:
        raise Refusal(f"{len(known)} phones are warned already; right would be to remove one first")
    with session.store.begin() as connection:
        for other in same[1:]:
            remove_channel(connection, other.id)
        if same:
            made = replace(same[0], address=address, secret=secret, person=called, why_off="", gone=False)
            renew(connection, made.id, address, secret, called)
        else:
            add_channel(connection, made)
        standing = tell_standing(session, connection, made, notices)
    told = session.style.say(CHANNELS["phone"], to=leads_to(made))
    return Receipt((told, catching_up(session.style, standing)) if standing else (told,))


def _same(known: Sequence[Channel], made: Channel, before: str) -> list[Channel]:
    """Return what is the same phone under an earlier subscription: the same endpoint first, then one that is gone."""
    ranked = [
        [each for each in known if each.address == made.address],
        [each for each in known if before and each.address == before],
        [each for each in known if each.gone and each.person == made.person],
    ]
    return list({each.id: each for some in ranked for each in some}.values())
