"""Warnings that stand, channels, and the durable queue of messages between them."""
