"""Carrying one message over one channel: mail, signed web hook, Web Push, anything Apprise reaches."""
