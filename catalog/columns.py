"""Column types that the tables share."""

from __future__ import annotations

import json
import uuid
from datetime import UTC, datetime
from typing import Annotated, Any

from sqlalchemy import JSON, DateTime, String
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import mapped_column
from sqlalchemy.types import TypeDecorator

__all__ = [
    "Digest",
    "JsonObject",
    "Moment",
    "Number",
    "Uid",
    "UtcDateTime",
    "canonical_json",
    "new_uid",
    "now",
]


class UtcDateTime(TypeDecorator[datetime]):
    """A moment, kept in UTC; comes back with its time zone. A moment without a zone is refused."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn to UTC and drop the zone, which SQLite cannot keep."""
        if value is None:
            return None
        if value.tzinfo is None:
            msg = f"a moment with a time zone wanted, {value!r} given"
            raise ValueError(msg)
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Give the zone back."""
        return None if value is None else value.replace(tzinfo=UTC)


def now() -> datetime:
    """Give this moment in UTC."""
    return datetime.now(UTC)


def new_uid() -> str:
    """Give a new identity that holds across catalogues (32 hex digits)."""
    return uuid.uuid4().hex


def canonical_json(value: object) -> str:
    """Give one text for equal values: sorted keys, no spaces, no NaN."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)


Number = Annotated[int, mapped_column(primary_key=True)]
Uid = Annotated[str, mapped_column(String(32), default=new_uid, unique=True)]
Digest = Annotated[str, mapped_column(String(64))]
Moment = Annotated[datetime, mapped_column(UtcDateTime)]
JsonObject = Annotated[dict[str, Any], mapped_column(JSON)]
