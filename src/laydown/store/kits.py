"""Kits in the library: who owns what."""

from collections.abc import Iterable

from sqlalchemy import select
from sqlalchemy.orm import Session

from laydown.errors import DuplicateNameError
from laydown.media.colorant import Colorant
from laydown.media.labels import checked_name, name_key
from laydown.store.colorants import colorant_of, colorant_row
from laydown.store.naming import unknown
from laydown.store.records import Kit
from laydown.store.tables import KitRow, MemberRow
from laydown.store.trouble import from_rows


def all_kits(session: Session) -> tuple[Kit, ...]:
    """Return all kits, sorted by name."""
    rows = session.scalars(select(KitRow).order_by(KitRow.key))
    return tuple(Kit(row.name, members(row)) for row in rows)


def kit_row(session: Session, text: str) -> KitRow:
    """Return the row of the kit of that name, or suggest near ones."""
    row = session.scalar(select(KitRow).where(KitRow.key == name_key(text)))
    if row is None:
        raise unknown("kit", text, session.scalars(select(KitRow.name)))
    return row


@from_rows
def members(row: KitRow) -> tuple[Colorant, ...]:
    """Return a kit's colorants, sorted by range and name."""
    owned = [colorant_of(member.colorant) for member in row.members]
    return tuple(sorted(owned, key=lambda c: (name_key(c.range), name_key(c.name))))


def add_kit(session: Session, text: str) -> None:
    """Add an empty kit."""
    name = checked_name(text, "kit")
    taken = session.scalar(select(KitRow).where(KitRow.key == name_key(name)))
    if taken is not None:
        raise DuplicateNameError(
            f"There is a kit “{taken.name}” already.", hint="Choose another name."
        )
    session.add(KitRow(name=name, key=name_key(name)))
    session.flush()


def remove_kit(session: Session, text: str) -> None:
    """Remove a kit and who is in it; the colorants stay."""
    session.delete(kit_row(session, text))
    session.flush()


def own(session: Session, text: str, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
    """Put colorants into a kit; return those that weren't in it."""
    kit = kit_row(session, text)
    there = {member.colorant_id for member in kit.members}
    new = []
    for colorant in colorants:
        row = colorant_row(session, colorant)
        if row.id not in there:
            there.add(row.id)
            kit.members.append(MemberRow(colorant=row))
            new.append(colorant_of(row))
    session.flush()
    return tuple(new)


def disown(session: Session, text: str, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
    """Take colorants out of a kit; return those that were in it."""
    kit = kit_row(session, text)
    gone = {colorant_row(session, colorant).id for colorant in colorants}
    leaving = [member for member in kit.members if member.colorant_id in gone]
    for member in leaving:
        kit.members.remove(member)
    session.flush()
    return tuple(colorant_of(member.colorant) for member in leaving)
