"""Note something else of a trial; what was noted before is kept."""

from dataclasses import dataclass, replace
from typing import Any

from laydown.app.targets import Wanted, settle_targets
from laydown.app.trial_words import TrialShown, checked_day, shown
from laydown.color.typed import measured_color
from laydown.media.recipe import parse_recipe
from laydown.media.swatch import Basis
from laydown.media.trial import Fill
from laydown.store.library import Library
from laydown.store.trial_records import TrialEntry
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class EditTrial:
    """What is to be noted instead; None leaves it as it is."""

    number: int
    recipe: str | None = None
    color: str | None = None
    wanted: str | None = None
    remark: str | None = None
    done: str | None = None
    fill: Fill | None = None
    kit: str | None = None
    paper: str | None = None


def edit_trial(library: Library, request: EditTrial) -> TrialShown:
    """Add an entry in which some things are noted otherwise.

    Raises
    ------
    UnknownNameError
        For a number, kit, paper or colorant that isn't there.
    """
    with library.look() as work:
        old = work.notebook.history(request.number)[-1].entry
        changes = _changes(work, request, old)
    if request.wanted is not None:
        changes["wanted"] = request.wanted
        changes["intended"] = _lab(library, request.wanted, old)
    with library.work(f"edit trial {request.number}") as work:
        return shown(work.notebook.edit(request.number, replace(old, **changes)))


def _changes(work: Work, request: EditTrial, old: TrialEntry) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    if request.recipe is not None:
        changes["recipe"] = parse_recipe(request.recipe, work.find_colorant)
    if request.color is not None:
        typed = measured_color(request.color)
        changes["reflectance"] = typed.reflectance
        changes["spread"] = typed.deviation if old.picture else max(old.spread, typed.deviation)
        changes["picture"], changes["shared"] = "", 0.0
        changes["basis"] = Basis.XYZ
        changes["measured"] = "typed"
    if request.paper is not None:
        changes["paper"] = work.paper_name(request.paper)
    if request.kit:
        work.kit(request.kit)
    if request.done is not None:
        changes["done"] = checked_day(request.done)
    for name in ("kit", "remark", "fill"):
        if getattr(request, name) is not None:
            changes[name] = getattr(request, name)
    return changes


def _lab(library: Library, wanted: str, old: TrialEntry) -> Any:
    if not wanted:
        return None
    return settle_targets(library, [Wanted(wanted)], paper=old.paper)[0].lab
