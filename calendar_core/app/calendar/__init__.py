"""The calendar: what subscribers are told."""
