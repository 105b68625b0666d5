"""Carrying one message over one channel: mail, signed web hook, anything Apprise reaches."""
