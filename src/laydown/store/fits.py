"""Kept fits: a cache of one fit per set of ranges and paper."""

import json

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from laydown.media.recipe import name_key
from laydown.store.columns import LONGEST_PAYLOAD
from laydown.store.records import FitKey
from laydown.store.tables import FitRow


def kept_fit(session: Session, key: FitKey) -> str | None:
    """Return the fit kept for exactly this key, or None."""
    ranges, paper = _place(key)
    return session.scalar(
        select(FitRow.payload).where(
            FitRow.ranges == ranges,
            FitRow.paper == paper,
            FitRow.model_version == key.model_version,
            FitRow.swatch_hash == key.swatch_hash,
            func.length(FitRow.payload) <= LONGEST_PAYLOAD,  # a longer one is none of ours
        )
    )


def keep_fit(session: Session, key: FitKey, payload: str) -> None:
    """Keep a fit in place of any other of the same ranges and paper, if it can be read again."""
    if len(payload) > LONGEST_PAYLOAD:
        return
    ranges, paper = _place(key)
    session.execute(delete(FitRow).where(FitRow.ranges == ranges, FitRow.paper == paper))
    session.add(
        FitRow(
            ranges=ranges,
            paper=paper,
            model_version=key.model_version,
            swatch_hash=key.swatch_hash,
            payload=payload,
        )
    )
    session.flush()


def _place(key: FitKey) -> tuple[str, str]:
    return json.dumps(sorted(map(name_key, key.ranges))), name_key(key.paper)
