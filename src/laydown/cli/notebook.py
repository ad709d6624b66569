"""``laydown trial``, ``hand`` and ``finished``: what you tried, what it teaches, what is done."""

import json
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import click

from laydown import allowed_sizes
from laydown.cli import asking, commands, console
from laydown.cli.console import color_text, columns, counted, recipe_text, tenths

if TYPE_CHECKING:
    from laydown.app.notebook import asking as answers
    from laydown.app.notebook.finished import FinishedWork
    from laydown.app.notebook.trials import TrialsAdded, TrialShown


HEADER = ("number", "day", "kit", "paper", "laid", "value", "L*", "a*", "b*", "off", "remarks")


def _recipe(trial: "TrialShown") -> str:
    return recipe_text(trial.recipe)


def added(made: "TrialsAdded") -> str:
    """Say what was noted, and what had been tried before."""
    trials, before = made
    first = trials[0]
    if len(trials) > 1:
        lines = [f"Noted: trials {first.number} to {trials[-1].number} ({len(trials)})."]
    else:
        lines = [f"Noted: trial {first.number}, {_recipe(first)}: {color_text(first.color)}."]
        if first.off is not None:
            lines.append(f"Against what was wanted: {first.off.words} ({first.off.delta_e:.1f}).")
    lines += [
        f"Tried before: trial {t.number}, {_recipe(t)}, came out {color_text(t.color)}."
        for t in before
    ]
    return "\n".join(lines)


def _row(trial: "TrialShown") -> list[object]:
    remarks = [trial.remark] if trial.remark else []
    remarks += [f"markers {trial.fill}"] if trial.fill != "usual" else []
    remarks += [f"by {trial.made_by}"] if trial.made_by else []
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


def told(entries: "Sequence[TrialShown]") -> str:
    """Tell a trial with its history."""
    *earlier, trial = entries
    lines = [*_told(trial)]
    if earlier:
        lines.append("Noted before:")
        lines += [
            f"  entry {e.version}: {_recipe(e)}, {color_text(e.color)}"
            f"{', taken back' if e.withdrawn else ''}{', ' + e.remark if e.remark else ''}"
            for e in earlier
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
    if trial.made_by:
        yield f"by       {trial.made_by}: it teaches the kit nothing"
    if trial.photograph:
        yield f"photo    kept ({trial.photograph[:12]})"
    if trial.remark:
        yield f"remark   {trial.remark}"


def explained(made: "answers.TrialExplained") -> str:
    """Say why a trial came out as it did."""
    from laydown.match.acceptance import chance_words

    trial, expected, off, found = made
    lines = [
        f"Trial {trial.number}: {_recipe(trial)} on {trial.paper}",
        f"expected {color_text(expected)}",
        f"became   {color_text(trial.color)}",
        (
            f"off      {off.words} ({off.delta_e:.1f}; {found.deviations:.1f} times the "
            "usual scatter)"
        ),
        "",
    ]
    if found.tied > 1:
        lines.append(f"These {found.tied} can't be told apart by this color alone:")
    for place, cause in enumerate(found.causes[: max(found.tied, 3)], 1):
        sign = "=" if place <= found.tied and found.tied > 1 else f"{place}."
        lines.append(f"{sign:>3} {cause.kind}: {cause.words} ({chance_words(cause.chance)})")
        lines += [f"    now: {cause.now}", f"    next time: {cause.next_time}"]
    if found.test:
        lines += ["", *console.wrapped([f"To tell: {found.test}"])]
    return "\n".join(lines)


def suggested_text(made: "answers.TrialsSuggested") -> str:
    """Say which trials are worth making."""
    recipes = counted(len(made.recipes), "recipe")
    if not made.trials:
        return f"Nothing is worth trying: {recipes} of this lesson are as sure as trials make them."
    rows = [
        [place, recipe_text(t.recipe), f"{t.before:.1f}", f"{t.after:.1f}"]
        for place, t in enumerate(made.trials, 1)
    ]
    table = columns(["trial", "lay", "unsure by", "then by"], rows)
    return f"For {recipes} with {made.kit} on {made.paper}:\n{table}"


def calibrated(made: "answers.CalibrationShown") -> str:
    """Show predictions against what was measured."""
    found = made.calibration
    rows = [
        [
            one.number,
            recipe_text(recipe),
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


def hands_text(made: "answers.HandsCompared") -> str:
    """Say how two hands compare, and how to lay their recipes."""
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
        lines.append(f"{recipe_text(one.theirs)} → {recipe_text(one.mine)}")
        lines += [f"  {sentence}" for sentence in one.words]
        lines.append(f"  off from theirs: {one.as_written:.1f} as written, {one.off:.1f} so.")
    return "\n".join(lines)


FILLS = ("usual", "refilled", "running dry")
_kit = asking.named_option("kit")
_paper = asking.named_option("paper")
_range = asking.named_option("range", "--range ranges", many=True)

trial = commands.Noun(
    "trial",
    "The notebook: what you tried, what came of it, and what that teaches.",
    'add "Kelp*2; Dune" lab:41,-20,24 --kit mine --paper "Gannet smooth"',
)


@trial.verb("add", "add_trial", '"Kelp*2; Dune" lab:41,-20,24 --kit mine --wanted lab:44,-18,22')
@click.argument("recipe", default="")
@click.argument("color", default="")
@asking.text("--file", "FILE", "Take measured swatches as trials.")
@asking.text(
    "--sheet pictures",
    "PICTURE",
    "Take the cells of a colored sheet as trials; may be given several times.",
    many=True,
)
@_kit
@_paper
@asking.text("--wanted", "COLOR", "The color that was wanted.")
@asking.text(
    "--by made_by",
    "NAME",
    "Who made it, if not the kit's owner: it is kept and teaches the kit nothing.",
)
@asking.text("--remark", words="In your own words.")
@asking.text("--date done", "DAY", "When it was made: 2026-03-04.")
@asking.option("--fill", FILLS, "usual", "How full the markers were.")
@asking.option(
    "--noise", (0.0, 20.0), 0.0, "How unsure the measurement is, in CIELAB units per axis."
)
@asking.text("--photo", "FILE", "Keep this photograph with it.")
def add(recipe: str, color: str, **given: Any) -> None:
    """Note a trial: RECIPE is what was laid, COLOR what came of it.

    COLOR is lab:L,a,b or xyz:X,Y,Z, by eye a notation such as "5YR 6/8", or #rrggbb from a screen,
    which is only rough. With --file each swatch of the file is a trial, with --sheet each sound
    cell of a colored sheet, and neither is given. Trials of a kit teach that kit on that paper:
    predictions, charts and matches use them. One that nothing agrees with is set aside until
    another does. Say with --by that a student made it: then it isn't taken for your own hand.
    """
    from laydown.media.swatch import Fill

    if not (given["file"] or given["pictures"]) and not (recipe and color):
        raise click.UsageError("Give a RECIPE and its COLOR, or --file, or --sheet.")
    made = console.ask(
        recipe=recipe,
        color=color,
        **console.measured_since(given["file"], given["pictures"]),
        made_by=given["made_by"].strip(),
        fill=Fill(given["fill"]),
        photograph=console.photograph_given(given["photo"]),
        **{one: given[one] for one in ("kit", "paper", "wanted", "remark", "done", "noise")},
    )
    console.show(made, added, under="trials tried_before")
    console.suggest(f"laydown trial explain {made[0][0].number}, if it is not what you expected")


@trial.verb("list", "list_trials", "--kit mine")
@_kit
@_paper
@asking.flag("--all withdrawn", "Also those taken back.")
@asking.option("--skip", (0, None), 0, "Pass over so many first.")
@asking.option("--most", (1, None), words="List so many at most.")
@asking.flag("--latest-first", "By number, the highest first.")
def list_(**given: Any) -> None:
    """List trials: number, recipe, what came of it."""
    found = console.ask(**given)
    trials, total = found
    told = columns(HEADER, [_row(trial) for trial in trials])
    console.show(found, lambda _: told, under="trials total")
    if trials:
        console.suggest_more(given["skip"] + len(trials), total)
    else:
        console.say("There are no such trials.")
        console.suggest('laydown trial add "Kelp*2" lab:40,-24,26')


@trial.verb("show", "show_trial", "3")
@click.argument("number", type=click.IntRange(1))
@asking.text("--photo", "FILE", "Write its photograph to this file.")
def show_one(number: int, photo: str) -> None:
    """Show the trial NUMBER with all that was ever noted of it."""
    console.show(console.ask(number), told, under="entries")
    _write_photograph(number, photo)


def _write_photograph(number: int, photo: str, *, finished: bool = False) -> None:
    """Write the photograph of a trial or a finished work to a file, where one is named."""
    if photo:
        from laydown.app.notebook.trials import photograph_of

        with console.library_in_use() as library:
            console.write_whole(photo, photograph_of(library, number, finished=finished)[1])


@trial.verb("find", "find_trials", "lab:71,8,46 --within 4")
@click.argument("color", default="", shell_complete=asking.names_of("colorant"))
@asking.option("--within", (0.0, 100.0), 5.0, "How near (CIEDE2000) is near.")
@asking.named_option("colorant", words="That the recipe uses.")
@asking.text("--words", words="That stand in the remark.")
def find(color: str, within: float, colorant: str, words: str) -> None:
    """Find trials near a COLOR, with a colorant, or by words, so that none is made twice."""
    found = console.ask(color=color, within=within, colorant=colorant, words=words)
    console.show_table(
        found,
        ["distance", *HEADER],
        lambda f: ["-" if f.distance is None else f"{f.distance:.1f}", *_row(f)],
        under="found",
        none="Nothing like it has been tried.",
    )


@trial.verb("edit", "edit_trial", '3 --recipe "Kelp*2; Skiff"')
@click.argument("number", type=click.IntRange(1))
@asking.text("--recipe", words="What was truly laid.", default=None)
@asking.text("--color", "COLOR", "What came of it.", default=None)
@asking.text("--wanted", "COLOR", "The color that was wanted.", default=None)
@asking.text("--by made_by", "NAME", "Who made it.", default=None)
@asking.text("--remark", words="In your own words.", default=None)
@asking.text("--date done", "DAY", "When it was made.", default=None)
@asking.option("--fill", FILLS, words="How full the markers were.")
@asking.named_option("kit", default=None)
@asking.named_option("paper", default=None)
def edit(number: int, fill: str | None, **given: Any) -> None:
    """Note something else of the trial NUMBER; what was noted before is kept."""
    from laydown.media.swatch import Fill

    made = console.ask(number=number, fill=Fill(fill) if fill else None, **given)
    console.show(made, lambda m: f"Noted anew: trial {m.number}, entry {m.version}.")
    console.suggest(f"laydown trial show {number}")


@trial.verb("undo", "undo_trial", "3")
@click.argument("number", type=click.IntRange(1))
@asking.flag("--bring-back", "Bring in again what was taken back.")
def undo(number: int, *, bring_back: bool) -> None:
    """Take the trial NUMBER back: it stays in the notebook, but nothing is learned from it.

    The command library undo leaves trials alone: what was tried was tried.
    """
    made = console.ask(number=number, bring_back=bring_back)
    done = "Brought in again" if bring_back else "Taken back"
    console.show(made, lambda m: f"{done}: trial {m.number}.")
    if not bring_back:
        console.suggest(f"laydown trial undo {number} --bring-back, if that was not meant")


@trial.verb("erase", "erase_trial", "3")
@click.argument("number", type=click.IntRange(1))
@asking.flag("--photograph-only", "Erase its photograph, and keep the trial.")
def erase(number: int, *, photograph_only: bool) -> None:
    """Erase the trial NUMBER for good, with its photograph. Nothing brings it back.

    It goes from the library's file, too. It stays in backups that you made before, and in
    notebooks that you handed out: delete those yourself. A picture of a sheet that trials were
    read from stays with the job that read it, until you remove that or a month has passed.
    """
    gone = console.ask(number=number, photograph_only=photograph_only)
    what = "the photograph of trial" if photograph_only else "trial"
    told = f"Erased for good: {what} {number}.\nBackups that you made before still hold it."
    made = number, not photograph_only, gone
    console.show(made, lambda _: told, under="number whole photographs")


@trial.verb("export", "export_trials", "-o notebook.json")
def export() -> None:
    """Hand out the whole notebook: every entry of every trial, and photographs."""
    made = console.ask()
    console.show(made, str, under="text")
    trials = json.loads(made)["trials"]
    notes = counted(sum(map(len, trials)), "note")
    console.say(f"{counted(len(trials), 'trial')} with {notes}.")


@trial.verb("import", "import_trials", "notebook.json")
@click.argument("file")
def import_(file: str) -> None:
    """Take in a notebook FILE that was handed out; what is here already is left as it is."""
    content = console.read_bytes(file, most=allowed_sizes.NOTEBOOK)
    made = console.ask(content=content, source=file, makes=True)
    source, trials, new, entries = made
    told = f"{source}: {counted(new, 'new trial')} of {trials}, {counted(entries, 'new note')}."
    console.show(made, lambda _: told, under="source trials new_trials new_entries")
    console.suggest("laydown trial list")


@trial.verb("explain", "explain_trial", "3")
@click.argument("number", type=click.IntRange(1))
def explain(number: int) -> None:
    """Say why the trial NUMBER came out as it did: likely causes, and a test that would tell."""
    console.show(console.ask(number), explained, under="trial expected off diagnosis")


@trial.verb("next", "suggest_trials", '--list lemons.csv --kit mine --paper "Gannet smooth"')
@asking.text("--recipe recipes", "RECIPE", "Of the lesson.", many=True)
@asking.text("--color colors", "COLOR", "Wanted in the lesson.", many=True)
@asking.text("--list file", "FILE", "A list of wanted colors.")
@asking.option("--most", (1, 50), 6, "How many trials, at most.")  # fmt: skip
@asking.text("--sheet", "FILE", "Write a page to color them on, as PDF.")
@asking.page_option
@asking.asking_options
def next_(**given: Any) -> None:
    """Say which few trials would make a lesson's colors surest, and when none is worth it."""
    asking.tell_of_compiling()
    from laydown.app.notebook.asking import SuggestTrials, sheet_of, suggest_trials
    from laydown.app.sheets.printing import draw_sheet

    file = given["file"]
    content = console.read_if(file, most=allowed_sizes.PLAN)
    request = SuggestTrials(
        given["recipes"], given["colors"], content, file, given["most"], asking.asked()
    )
    with console.library_in_use() as library:
        with console.progress_bar("searching") as watch:
            made = suggest_trials(library, request, watch=watch)
        console.show(made, suggested_text)
        if given["sheet"] and made.trials:
            sheet = sheet_of(library, made, page=given["page"])
            console.write_whole(given["sheet"], draw_sheet(library, sheet))
            console.suggest(
                f"color sheet {sheet.number}, take a picture of it, then laydown trial add --sheet"
                " PICTURE"
            )
        elif made.trials:
            console.suggest("make them, then laydown trial add")


@trial.verb("calibration", "show_calibration", '--kit mine --paper "Gannet smooth" --plot mine.svg')
@_kit
@_range
@_paper
@asking.text("--plot", "FILE", "Write the plot, as SVG.")
def calibration(kit: str, ranges: tuple[str, ...], paper: str, plot: str) -> None:
    """Show how good predictions have been: each trial against them, before and after learning."""
    from laydown.app.fits import Supplies

    made = console.ask(Supplies(kit, ranges, paper))
    console.show(made, calibrated)
    if plot:
        console.write_whole(plot, made.svg.encode())


@trial.verb("print", "print_trials", "3 4 -o trials.pdf")
@click.argument("numbers", nargs=-1, type=click.IntRange(1))
@asking.page_option
def print_(numbers: tuple[int, ...], page: str) -> None:
    """Print the trials of these NUMBERS, or all, with room for the real swatch, as PDF."""
    count, pdf = console.ask(numbers, page=page)
    console.show_document({"trials": count, "bytes": len(pdf)}, lambda: pdf)


hand = commands.Noun(
    "hand",
    "How much you lay down against someone else.",
    'compare teacher.csv --kit mine --paper "Gannet smooth"',
)


@hand.verb("compare", "compare_hands", 'teacher.csv --kit mine --recipe "Kelp; Dune"')
@click.argument("file")
@asking.named_option("kit", words="Your kit.")
@asking.named_option(
    "range", "--range ranges", "A range of yours as a whole, instead of a kit.", many=True
)
@asking.named_option("paper", words="The paper that both have swatched on.")
@asking.text(
    "--recipe recipes", "RECIPE", "A recipe of theirs, to be restated for your hand.", many=True
)
@asking.text("--list list_file", "LIST", "A list whose colors are recipes of theirs.")
def compare(file: str, list_file: str, **given: Any) -> None:
    """Compare your hand with that of whoever colored the swatches in FILE.

    It takes three or more of the same colorants in one coat on one paper by both of you. Their
    recipes are then restated: where they lay one coat, lay two light ones.
    """
    from laydown.app.fits import Supplies

    made = console.ask(
        file=console.read_bytes(file, most=allowed_sizes.SWATCHES),
        source=file,
        supplies=Supplies(given["kit"], given["ranges"], given["paper"]),
        recipes=given["recipes"],
        list_file=console.read_if(list_file, most=allowed_sizes.LIST),
        list_source=list_file,
    )
    console.show(made, hands_text)
    if not made.restated:
        console.suggest(f'laydown hand compare {file} --recipe "…", to restate a recipe of theirs')


def _work(work: "FinishedWork") -> str:
    lines = [f"{work.number}. {work.title}"]
    said = {
        "finished": work.done,
        "paper": work.paper,
        "photo": work.photograph and f"kept ({work.photograph[:12]})",
        "remark": work.remark,
    }
    lines += [f"{name:9}{text}" for name, text in said.items() if text]
    lines += [f"{'laid':9}{recipe_text(recipe)}" for recipe in work.recipes]
    return "\n".join(lines)


finished = commands.Noun(
    "finished",
    "Finished works: a photograph, the paper, and all that was laid.",
    'keep "Lemons" --recipe "Kelp*2; Dune" --photo lemons.jpg',
)


@finished.verb("keep", "keep_finished", '"Lemons" --recipe "Kelp*2; Dune" --photo lemons.jpg')
@click.argument("title")
@asking.named_option("paper")
@asking.text("--recipe recipes", "RECIPE", "What was laid; may be given several times.", many=True)
@asking.option(
    "--lesson", (1, None), words="A kept lesson of which all recipes were laid.", metavar="NUMBER"
)
@asking.text("--date done", "DAY", "When it was done: 2026-03-04.")
@asking.text("--remark", words="In your own words.")
@asking.text("--photo", "FILE", "Keep this photograph with it.")
def keep_finished(lesson: int | None, photo: str, **given: Any) -> None:
    """Keep the work called TITLE, now that it is finished.

    What the camera noted of place, owner and time is left out of the photograph.
    """
    picture = console.photograph_given(photo)
    made = console.ask(lesson=lesson or 0, photograph=picture, **given)
    console.show(made, lambda m: f"Kept: {m.title}, finished work {m.number}.")
    console.suggest(f"laydown finished show {made.number}")


@finished.verb("list", "list_finished")
def list_finished() -> None:
    """List finished works, the latest first."""
    console.show_table(
        console.ask(),
        ["number", "title", "finished", "paper", "recipes", "photo"],
        lambda w: [
            *(w.number, w.title, w.done or "-", w.paper or "-"),
            *(len(w.recipes), w.photograph[:12] or "-"),
        ],
        under="finished",
        none="Nothing is finished yet.",
    )


@finished.verb("show", "show_finished", "1")
@click.argument("number", type=click.IntRange(1))
@asking.text("--photo", "FILE", "Write its photograph to this file.")
def show_finished(number: int, photo: str) -> None:
    """Show the finished work NUMBER with its recipes."""
    console.show(console.ask(number), _work)
    _write_photograph(number, photo, finished=True)


@finished.verb("remove", "remove_finished", "1")
@click.argument("number", type=click.IntRange(1))
@asking.flag("--erase-photograph", "Erase its photograph for good; undo brings none back.")
def remove_finished(number: int, *, erase_photograph: bool) -> None:
    """Remove the finished work NUMBER; library undo brings it back."""
    made = console.ask(number=number, erase_photograph=erase_photograph)
    console.show(made, lambda m: f"Removed: {m.title}.")
