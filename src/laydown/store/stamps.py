"""Moments in time as the database keeps them: always UTC, always aware of it."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import DateTime
from sqlalchemy.engine import Dialect

from laydown.store import columns, trouble


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


class Moment(columns.KeptColumn):
    """A moment; databases that know no time zones hold it as UTC."""

    impl = DateTime

    def __init__(self, *, missing: bool = False) -> None:
        super().__init__(True, missing=missing)  # with its time zone, where there are such

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn any aware moment into UTC."""
        del dialect
        return None if value is None else value.astimezone(UTC)

    def taker(self, read: columns.Taker | None = None) -> columns.Taker:
        """Say of what comes back that it is UTC, see `KeptColumn.taker`."""

        def taken(value: Any) -> Any:
            if value is None:
                return self.refuse(value)
            try:
                moment = read(value) if read else value
                return (
                    moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
                )
            except trouble.WRONG:
                return self.refuse(value)

        return taken
