"""Hand the whole notebook out as one file: every entry of every trial, and photographs."""

import base64
import json
from dataclasses import dataclass
from typing import Any

from laydown.media.recipe import format_recipe
from laydown.store.library import Library
from laydown.store.trial_records import Photograph, StoredTrial

FORM = "laydown trials 1"


@dataclass(frozen=True, slots=True)
class TrialsExported:
    """The file's text, and how many trials, entries and photographs it holds."""

    trials: int
    entries: int
    photographs: int
    text: str


def export_trials(library: Library) -> TrialsExported:
    """Write the notebook, those taken back included, so that `import_trials` brings it in whole."""
    with library.look() as work:
        numbers = [t.number for t in work.notebook.latest(withdrawn=True)]
        histories = [work.notebook.history(number) for number in numbers]
        digests = {t.entry.photograph for history in histories for t in history} - {""}
        pictures = [work.notebook.photograph(digest) for digest in sorted(digests)]
    whole = {
        "form": FORM,
        "trials": [[_entry(stored) for stored in history] for history in histories],
        "photographs": [_picture(picture) for picture in pictures],
    }
    entries = sum(map(len, histories))
    text = json.dumps(whole, ensure_ascii=False, indent=1)
    return TrialsExported(len(histories), entries, len(pictures), text)


def _picture(picture: Photograph) -> dict[str, str]:
    return {"name": picture.name, "content": base64.b64encode(picture.content).decode("ascii")}


def _entry(stored: StoredTrial) -> dict[str, Any]:
    entry = stored.entry
    return {
        "uid": stored.uid,
        "version": stored.version,
        "withdrawn": stored.withdrawn,
        "recorded": stored.recorded.isoformat(),
        "kit": entry.kit,
        "paper": entry.paper,
        "recipe": format_recipe(entry.recipe, with_range=True),
        "reflectance": entry.reflectance.tolist(),
        "basis": str(entry.basis),
        "spread": entry.spread,
        "measured": entry.measured,
        "wanted": entry.wanted,
        "intended": None if entry.intended is None else entry.intended.tolist(),
        "remark": entry.remark,
        "done": entry.done,
        "fill": str(entry.fill),
        "photograph": entry.photograph,
        "picture": entry.picture,
        "shared": entry.shared,
    }
