"""Photographs, and what a job was given, without what they told of place, owner and time."""

import base64
import hashlib
import re

import sqlalchemy as sa
from alembic import op

from laydown.bare_picture import bare
from laydown.store.jobs import ASKED, packed, unpacked
from laydown.store.trouble import DamagedError

PHOTOGRAPHS = sa.table(
    "photographs", sa.column("id"), sa.column("digest"), sa.column("content", sa.LargeBinary)
)
ENTRIES = sa.table("trial_entries", sa.column("photograph_id"))
TEXTS = sa.table(
    "job_texts", sa.column("job_id"), sa.column("part"), sa.column("content", sa.LargeBinary)
)
JOBS = sa.table("jobs", sa.column("id"), sa.column("bytes_kept"))
GIVEN = re.compile(r'"([A-Za-z0-9+/]{400,}={0,2})"')
"""A file that a job was given, as its text keeps it; no picture is shorter."""


def bare_pictures() -> None:
    """Bare every picture and PDF; two that differed in nothing else become one."""
    connection = op.get_bind()
    for number in connection.scalars(sa.select(PHOTOGRAPHS.c.id).order_by(PHOTOGRAPHS.c.id)).all():
        _bare_photograph(connection, number)
    for number in connection.scalars(sa.select(TEXTS.c.job_id).where(_is_asked())).all():
        _bare_request(connection, number)


def _bare_photograph(connection: sa.Connection, number: int) -> None:
    this = PHOTOGRAPHS.c.id == number
    content = connection.execute(sa.select(PHOTOGRAPHS.c.content).where(this)).scalar_one()
    kept = bare(content)
    if kept == content:
        return
    digest = hashlib.sha256(kept).hexdigest()
    same = connection.scalar(sa.select(PHOTOGRAPHS.c.id).where(PHOTOGRAPHS.c.digest == digest))
    if same is None:
        connection.execute(sa.update(PHOTOGRAPHS).where(this).values(digest=digest, content=kept))
        return
    shows = sa.update(ENTRIES).where(ENTRIES.c.photograph_id == number)
    connection.execute(shows.values(photograph_id=same))
    connection.execute(sa.delete(PHOTOGRAPHS).where(this))


def _is_asked() -> sa.ColumnElement[bool]:
    return TEXTS.c.part == ASKED


def _bare_request(connection: sa.Connection, number: int) -> None:
    this = sa.and_(_is_asked(), TEXTS.c.job_id == number)
    content = connection.execute(sa.select(TEXTS.c.content).where(this)).scalar_one()
    try:
        text = unpacked(content)
    except DamagedError:
        return  # of which its page says that it can't be read
    kept = GIVEN.sub(_bare_file, text)
    if kept != text:
        put = packed(kept)
        connection.execute(sa.update(TEXTS).where(this).values(content=put))
        more = JOBS.c.bytes_kept + len(put) - len(content)
        connection.execute(sa.update(JOBS).where(JOBS.c.id == number).values(bytes_kept=more))


def _bare_file(found: re.Match[str]) -> str:
    try:
        content = base64.b64decode(found[1], validate=True)
    except ValueError:
        return found[0]
    return f'"{base64.b64encode(bare(content)).decode("ascii")}"'
