"""Moments in time as the database keeps them: always UTC, always aware of it."""

from datetime import UTC, datetime

from sqlalchemy import DateTime
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator


def now() -> datetime:
    """Return the present moment, in UTC, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


def file_stamp(moment: datetime) -> str:
    """Write a moment so that it may stand in a file name.

    Examples
    --------
    >>> file_stamp(datetime(2026, 5, 4, 18, 30, tzinfo=UTC))
    '20260504-183000'
    """
    return moment.strftime("%Y%m%d-%H%M%S")


class Moment(TypeDecorator[datetime]):
    """A moment; databases that know no time zones hold it as UTC."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn any aware moment into UTC."""
        del dialect
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Say of what comes back that it is UTC."""
        del dialect
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
