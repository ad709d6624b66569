"""Putting a backup in the place of a library, and keeping what was there."""

import sqlite3
from pathlib import Path

from sqlalchemy import Engine

from laydown.errors import LibraryError
from laydown.store.copying import copy_beside, copy_over
from laydown.store.location import find_location, make_engine
from laydown.store.migrating import bring_up_to_date, found_revision
from laydown.store.trouble import plainly


def put_in_place(backup: Path, target: Path, engine: Engine) -> Path:
    """Copy a backup over a library in one transaction.

    Parameters
    ----------
    backup
        A laydown library, of this version or an older one.
    target
        The library's own file.
    engine
        Of the library, to bring an older backup up to date once it is in place.

    Returns
    -------
    path
        Where the library as it was before is kept.
    """
    _check(backup, target)
    kept = copy_beside(target, "restore")
    engine.dispose()
    try:
        copy_over(backup, target)
    except (sqlite3.Error, OSError) as error:
        raise LibraryError(
            f"{target} can't be written: {error}.",
            hint=f"It is as it was; a copy lies at {kept}.",
        ) from error
    with plainly(str(target)):
        bring_up_to_date(engine, find_location(target))
    return kept


def _check(backup: Path, target: Path) -> None:
    if not backup.is_file():
        raise LibraryError(
            f"There is no file {backup}.", hint="Give a backup: a copy of a library."
        )
    if target.exists() and backup.samefile(target):
        raise LibraryError(
            f"{backup} is the library itself.", hint="Give a backup: a copy of a library."
        )
    with plainly(str(backup)):
        engine = make_engine(find_location(backup)).execution_options(reads_only=True)
        with engine.connect() as connection:
            revision = found_revision(connection, str(backup))
    if not revision:
        raise LibraryError(f"{backup} is empty.", hint="Give a backup: a copy of a library.")
