"""The words of the notebook in the terminal."""

from collections.abc import Iterable, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from laydown.cli.columns import columns, counted, tenths

if TYPE_CHECKING:
    from laydown.app.add_trial import TrialsAdded
    from laydown.app.color_in_words import ColorInWords
    from laydown.app.compare_hands import HandsCompared
    from laydown.app.explain_trial import TrialExplained
    from laydown.app.find_trials import TrialsFound
    from laydown.app.show_calibration import CalibrationShown
    from laydown.app.show_trial import TrialTold
    from laydown.app.suggest_trials import TrialsSuggested
    from laydown.app.trial_words import TrialShown

WIDTH = 88
HEADER = ("number", "day", "kit", "paper", "laid", "value", "L*", "a*", "b*", "off", "remarks")


def _recipe(trial: "TrialShown") -> str:
    from laydown.media.recipe import format_recipe

    return format_recipe(trial.recipe)


def color_text(color: "ColorInWords") -> str:
    """Say a color in words and numbers."""
    L, a, b = (tenths(x) for x in color.lab)
    return f"{color.words}, value {color.value:.1f}, L* {L} a* {a} b* {b}"


def added(made: "TrialsAdded") -> str:
    """Say what was noted, and what had been tried before."""
    first = made.trials[0]
    if len(made.trials) > 1:
        last = made.trials[-1]
        lines = [f"Noted: trials {first.number} to {last.number} ({len(made.trials)})."]
    else:
        lines = [f"Noted: trial {first.number}, {_recipe(first)}: {color_text(first.color)}."]
        if first.off is not None:
            lines.append(f"Against what was wanted: {first.off.words} ({first.off.delta_e:.1f}).")
    lines += [
        f"Tried before: trial {t.number}, {_recipe(t)}, came out {color_text(t.color)}."
        for t in made.tried_before
    ]
    return "\n".join(lines)


def listed(trials: Sequence["TrialShown"]) -> str:
    """Lay trials out as a table."""
    return columns(HEADER, [_row(trial) for trial in trials])


def _row(trial: "TrialShown") -> list[object]:
    remarks = [trial.remark] if trial.remark else []
    remarks += [f"markers {trial.fill}"] if trial.fill != "usual" else []
    remarks += ["taken back"] if trial.withdrawn else []
    return [
        trial.number,
        trial.done or trial.recorded.date().isoformat(),
        trial.kit or "-",
        trial.paper,
        _recipe(trial),
        f"{trial.color.value:.1f}",
        *(tenths(x) for x in trial.color.lab),
        "-" if trial.off is None else f"{trial.off.delta_e:.1f}",
        ", ".join(remarks),
    ]


def told(shown: "TrialTold") -> str:
    """Tell a trial with its history."""
    trial = shown.trial
    lines = [*_told(trial)]
    if shown.earlier:
        lines.append("Noted before:")
        lines += [
            f"  entry {e.version}: {_recipe(e)}, {color_text(e.color)}"
            f"{', taken back' if e.withdrawn else ''}{', ' + e.remark if e.remark else ''}"
            for e in shown.earlier
        ]
    return "\n".join(lines)


def _told(trial: "TrialShown") -> Iterable[str]:
    back = ", taken back: it teaches nothing" if trial.withdrawn else ""
    yield f"Trial {trial.number}, entry {trial.version}{back}"
    yield f"laid     {_recipe(trial)} on {trial.paper}" + (f", kit {trial.kit}" * bool(trial.kit))
    yield f"became   {color_text(trial.color)}"
    if trial.intended is not None and trial.off is not None:
        yield f"wanted   {trial.wanted}: {color_text(trial.intended)}"
        yield f"off      {trial.off.words} ({trial.off.delta_e:.1f})"
    yield f"made     {trial.done or 'day not said'}, markers {trial.fill}, color {trial.measured}"
    if trial.photograph:
        yield f"photo    kept ({trial.photograph[:12]})"
    if trial.remark:
        yield f"remark   {trial.remark}"


def found_text(found: "TrialsFound") -> str:
    """List what was found, with how far it is."""
    header = ("distance", *HEADER)
    return columns(
        header,
        [["-" if f.distance is None else f"{f.distance:.1f}", *_row(f.trial)] for f in found.found],
    )


def explained(made: "TrialExplained") -> str:
    """Say why a trial came out as it did."""
    found = made.diagnosis
    lines = [
        f"Trial {made.trial.number}: {_recipe(made.trial)} on {made.trial.paper}",
        f"expected {color_text(made.expected)}",
        f"became   {color_text(made.trial.color)}",
        (
            f"off      {made.off.words} ({made.off.delta_e:.1f}; {found.deviations:.1f} times the "
            "usual scatter)"
        ),
        "",
    ]
    if found.tied > 1:
        lines.append(f"These {found.tied} can't be told apart by this color alone:")
    for place, cause in enumerate(found.causes[: max(found.tied, 3)], 1):
        sign = "=" if place <= found.tied and found.tied > 1 else f"{place}."
        chance = f"about {100 * cause.chance:.0f} in 100"
        lines.append(f"{sign:>3} {cause.kind}: {cause.words} ({chance})")
    if found.test:
        lines += ["", *wrap(f"To tell: {found.test}", WIDTH)]
    return "\n".join(lines)


def suggested_text(made: "TrialsSuggested") -> str:
    """Say which trials are worth making."""
    from laydown.media.recipe import format_recipe

    recipes = counted(len(made.recipes), "recipe")
    if not made.trials:
        return f"Nothing is worth trying: {recipes} of this lesson are as sure as trials make them."
    rows = [
        [place, format_recipe(t.recipe), f"{t.before:.1f}", f"{t.after:.1f}"]
        for place, t in enumerate(made.trials, 1)
    ]
    table = columns(["trial", "lay", "unsure by", "then by"], rows)
    return f"For {recipes} with {made.kit} on {made.paper}:\n{table}"


def calibrated(made: "CalibrationShown") -> str:
    """Show predictions against what was measured."""
    from laydown.media.recipe import format_recipe

    found = made.calibration
    rows = [
        [
            one.number,
            format_recipe(recipe),
            f"{one.off_before:.1f}",
            f"{one.off_after:.1f}",
            "set aside" if one.flagged else "",
        ]
        for one, recipe in zip(found.trials, made.recipes, strict=True)
    ]
    scores = [
        [
            name,
            f"{s.mean:.1f}",
            f"{s.largest:.1f}",
            f"{s.value:.2f}",
            *(f"{s.inside[region]:.0f}" for region in (50, 80, 95)),
            f"{s.log_score:.1f}",
            f"{s.constant_log_score:.1f}",
        ]
        for name, s in (("by swatches alone", found.before), ("by all other trials", found.after))
    ]
    header = ["predicted", "mean off", "largest", "value off", "in 50 %", "in 80 %", "in 95 %",
              "log score", "if constant"]  # fmt: skip
    return "\n\n".join(
        [
            f"{made.kit} on {made.paper}: {made.hand}.",
            columns(["trial", "laid", "off before", "off after", "remarks"], rows),
            columns(header, scores),
            made.trust,
        ]
    )


def hands_text(made: "HandsCompared") -> str:
    """Say how two hands compare, and how to lay their recipes."""
    from laydown.media.recipe import format_recipe

    told_by = ", ".join(c.name for c in made.hand.shared)
    lines = [f"{made.words} Told by {told_by} on {made.paper}."]
    if made.hand.odd:
        lines.append(f"Left out, since they disagree with the rest: {', '.join(made.hand.odd)}.")
    if made.by_trials:
        lines.append("Your own trials count in your colors; the hand is not put on top of them.")
    if made.borrowed:
        names = ", ".join(c.name for c in made.borrowed)
        lines.append(f"Taken from their swatches, by your hand: {names}.")
    for one in made.restated:
        lines.append("")
        lines.append(f"{format_recipe(one.theirs)} → {format_recipe(one.mine)}")
        lines += [f"  {sentence}" for sentence in one.words]
        lines.append(f"  off from theirs: {one.as_written:.1f} as written, {one.off:.1f} so.")
    return "\n".join(lines)
