"""JSON as it is stored and printed."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date, datetime, time
from enum import Enum
from typing import Any
from uuid import UUID


def as_json(data: object) -> Any:
    """Return plain lists, dicts, texts and numbers for any of the program's values."""
    if is_dataclass(data) and not isinstance(data, type):
        return {field.name: as_json(getattr(data, field.name)) for field in fields(data)}
    if isinstance(data, dict):
        return {str(key): as_json(value) for key, value in data.items()}
    if isinstance(data, set | frozenset):
        return sorted((as_json(value) for value in data), key=str)
    if isinstance(data, list | tuple):
        return [as_json(value) for value in data]
    if isinstance(data, datetime | date | time):
        return data.isoformat()
    if isinstance(data, UUID | Enum):
        return str(data)
    if hasattr(data, "item"):  # numpy scalars
        return data.item()
    return data
