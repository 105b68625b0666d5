"""Secrets of calendars' addresses are kept out of what is logged and of what is kept of faults."""

from __future__ import annotations

import logging
import re

_SECRET = re.compile(r'/calendar/[^\s"]+')


def without_secret(text: str) -> str:
    """Return a text without the secret of an address.

    >>> without_secret("GET /calendar/q3QJm8.ics HTTP/1.1")
    'GET /calendar/... HTTP/1.1'
    """
    return _SECRET.sub("/calendar/...", text)


class NoSecrets(logging.Filter):
    """Takes the secrets of addresses out of what is logged of requests."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let every record pass, without secrets."""
        if isinstance(record.args, tuple):
            record.args = tuple(without_secret(one) if isinstance(one, str) else one for one in record.args)
        record.msg = without_secret(record.msg) if isinstance(record.msg, str) else record.msg
        return True
