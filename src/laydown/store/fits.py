"""Kept fits: a cache of one fit per set of ranges and paper."""

import json

from sqlalchemy import delete, func, select

from laydown.media.legible import name_key
from laydown.store.columns import LONGEST_PAYLOAD
from laydown.store.records import FitKey
from laydown.store.shelf import Shelf
from laydown.store.tables import FitRow


class FitShelf(Shelf):
    """The kept fits of a library: a cache, never part of what undo takes back."""

    def fit(self, key: FitKey) -> str | None:
        """Return the kept fit for exactly this key, as its owner wrote it, or None."""
        ranges, paper = _place(key)
        return self.session.scalar(
            select(FitRow.payload).where(
                FitRow.ranges == ranges,
                FitRow.paper == paper,
                FitRow.model_version == key.model_version,
                FitRow.swatch_hash == key.swatch_hash,
                func.length(FitRow.payload) <= LONGEST_PAYLOAD,  # a longer one is none of ours
            )
        )

    def keep_fit(self, key: FitKey, payload: str) -> None:
        """Keep a fit (JSON text) in place of any other of the same ranges and paper.

        One that is too long to be read again is not kept.
        """
        if len(payload) > LONGEST_PAYLOAD:
            return
        ranges, paper = _place(key)
        self.session.execute(delete(FitRow).where(FitRow.ranges == ranges, FitRow.paper == paper))
        self.session.add(
            FitRow(
                ranges=ranges,
                paper=paper,
                model_version=key.model_version,
                swatch_hash=key.swatch_hash,
                payload=payload,
            )
        )
        self.session.flush()


def _place(key: FitKey) -> tuple[str, str]:
    return json.dumps(sorted(map(name_key, key.ranges))), name_key(key.paper)
