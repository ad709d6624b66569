"""What was laid on a swatch as the text of its recipe, and how long it had dried as a number.

Columns that nothing reads any longer go.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import sqlalchemy as sa
from alembic import op

from laydown.store.columns import NumberColumn, WholeColumn, WordColumn, WordsColumn

# Written out here, for a step does tomorrow what it does today, whatever becomes of recipes.
# The columns look at what they read, since the library may be a stranger's.

SWATCHES = sa.table(
    "swatches", sa.column("id"), sa.column("recipe"), sa.column("hours"),
    sa.column("flags", WordsColumn()),
)  # fmt: skip
USES = sa.table("swatch_colorants", sa.column("swatch_id"), sa.column("colorant_id"))
JOURNAL = sa.table("journal", sa.column("change_id"), sa.column("table_name"))
WORD, NAME = WordColumn(20, missing=True), WordColumn(200, missing=True)
USUAL = {"even", "medium", "dry"}
MOST_STEPS = 30
"""Steps and parts that the text of a recipe may have."""
READ_AFTER = "read-after-"
AT_ONCE = 1000
"""Swatches that are in memory together."""


def recipes_as_text() -> None:
    """Write recipes and hours from what there was, and let go of that."""
    op.add_column("swatches", sa.Column("recipe", sa.Text, nullable=False, server_default=""))
    op.add_column("swatches", sa.Column("hours", sa.Double))
    op.create_table(
        "swatch_colorants",
        sa.Column("swatch_id", sa.Integer, sa.ForeignKey("swatches.id"), primary_key=True),
        sa.Column(
            "colorant_id", sa.Integer, sa.ForeignKey("colorants.id"), primary_key=True, index=True
        ),
    )
    for swatches in _portions():
        _write_recipes(swatches)
        _write_hours(swatches)
    _end_history()
    op.execute("delete from fits")  # they are worked out anew from what is written otherwise now
    op.drop_table("parts")
    op.drop_table("steps")
    op.drop_column("swatches", "xyz")
    for name in ("owner", "to_be_stopped", "heard_of"):
        op.drop_column("jobs", name)


def _portions() -> Iterator[Sequence[int]]:
    """Give the numbers of the swatches, a portion at a time."""
    last = 0
    while True:
        found = sa.select(SWATCHES.c.id).where(SWATCHES.c.id > last)
        numbers = op.get_bind().scalars(found.order_by(SWATCHES.c.id).limit(AT_ONCE)).all()
        if not numbers:
            return
        yield numbers
        last = numbers[-1]


def _write_recipes(swatches: Sequence[int]) -> None:
    parts = _parts(swatches)
    steps: dict[int, list[str]] = defaultdict(list)
    uses: set[tuple[int, int]] = set()
    for step, swatch, *laid in _steps(swatches):
        _refuse_endless(steps[swatch], parts[step])
        steps[swatch].append(_step(laid, parts[step]))
        colorants = [laid[0], *(number for number, _, _ in parts[step])]
        uses |= {(swatch, number) for number in colorants if number is not None}
    connection = op.get_bind()
    if steps:
        connection.execute(
            sa.update(SWATCHES)
            .where(SWATCHES.c.id == sa.bindparam("number"))
            .values(recipe=sa.bindparam("text")),
            [{"number": swatch, "text": "; ".join(texts)} for swatch, texts in steps.items()],
        )
    if uses:
        connection.execute(
            sa.insert(USES), [{"swatch_id": s, "colorant_id": c} for s, c in sorted(uses)]
        )


def _steps(swatches: Sequence[int]) -> Iterable[Any]:
    found = sa.text(
        "select s.id, s.swatch_id, s.colorant_id, r.name as range_name, c.name as name, s.coats, "
        "s.dilution, s.stroke, s.pressure, s.wait, s.treatment, s.tool from steps s "
        "left join colorants c on c.id = s.colorant_id left join ranges r on r.id = c.range_id "
        "where s.swatch_id between :first and :last order by s.swatch_id, s.position"
    ).columns(
        coats=WholeColumn(1, 9, missing=True),
        dilution=NumberColumn(0.0, 1.0, missing=True),
        **dict.fromkeys(("range_name", "name"), NAME),
        **dict.fromkeys(("stroke", "pressure", "wait", "treatment", "tool"), WORD),
    )
    return op.get_bind().execute(found, {"first": swatches[0], "last": swatches[-1]})


def _parts(swatches: Sequence[int]) -> dict[int, list[tuple[int, int, str]]]:
    """Return the parts of each step that was mixed: colorant, parts and label."""
    found = sa.text(
        "select p.step_id, p.colorant_id, p.parts, r.name as range_name, c.name as name "
        "from parts p join steps s on s.id = p.step_id join colorants c on c.id = p.colorant_id "
        "join ranges r on r.id = c.range_id "
        "where s.swatch_id between :first and :last order by p.step_id, p.position"
    ).columns(parts=WholeColumn(1, 3), **dict.fromkeys(("range_name", "name"), NAME))
    parts = defaultdict(list)
    span = {"first": swatches[0], "last": swatches[-1]}
    for step, colorant, count, of, name in op.get_bind().execute(found, span):
        parts[step].append((colorant, count, f"{of}/{name}"))
    return parts


def _refuse_endless(steps: Sequence[str], parts: Sequence[object]) -> None:
    if len(steps) >= MOST_STEPS or len(parts) > MOST_STEPS:
        raise ValueError("a swatch of more steps than were ever taken in")


def _step(laid: Sequence[Any], parts: Sequence[tuple[int, int, str]]) -> str:
    colorant, of, name, coats, dilution, stroke, pressure, wait, treatment, tool = laid
    if colorant is None and treatment and tool:
        return f"{treatment} by {tool}"
    mixed = " + ".join(f"{count} {label}" for _, count, label in parts)
    named = f"mix {mixed}" if mixed else f"{of}/{name}"
    words = [word for word in (stroke, pressure, wait) if word not in USUAL]
    if None in (name, *words) or coats is None or (mixed and parts[0][0] != colorant):
        raise ValueError("a step of which something is missing")
    if dilution:
        words.append(f"dilution {_number(dilution)}")
    return named + (f"*{coats}" if coats > 1 else "") + (f" ({', '.join(words)})" if words else "")


def _number(value: float) -> str:
    short = f"{value:g}"
    return short if float(short) == value else repr(value)


def _write_hours(swatches: Sequence[int]) -> None:
    """Turn the flag that told how long a patch had dried into a number."""
    found = sa.select(SWATCHES.c.id, SWATCHES.c.flags).where(
        SWATCHES.c.id.between(swatches[0], swatches[-1]),
        sa.cast(SWATCHES.c.flags, sa.Text).like(f"%{READ_AFTER}%"),
    )
    connection = op.get_bind()
    for number, flags in connection.execute(found).all():
        told = [flag for flag in flags if flag.startswith(READ_AFTER)]
        hours = min(float(flag.removeprefix(READ_AFTER).removesuffix("h")) for flag in told)
        others = sorted(set(flags) - set(told))
        connection.execute(
            sa.update(SWATCHES).where(SWATCHES.c.id == number).values(flags=others, hours=hours)
        )


def _end_history() -> None:
    """Forget the rows of changes up to the last that wrote swatches as they no longer are kept.

    What was changed after it can be taken back; the change itself stays by its name, and undo says
    of it that this can't be.
    """
    old = sa.select(sa.func.max(JOURNAL.c.change_id)).where(
        JOURNAL.c.table_name.in_(("swatches", "steps", "parts"))
    )
    last = op.get_bind().scalar(old)
    if last is not None:
        op.execute(sa.delete(JOURNAL).where(JOURNAL.c.change_id <= last))
