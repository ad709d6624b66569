"""Invented charts, built by hand: every kind of row without a search."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy import ndimage

from laydown.match.outcome import Candidate, Difference, Match, Mud, Origin, Target, Verdict
from laydown.media.kit.fit import Prediction
from laydown.media.laydown import Laydown, Stroke, Wait
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.plan.chart import Chart, with_layers
from laydown.plan.picture.picture import (
    KitPicture,
    PaletteColor,
    PicturePlan,
    PlanRules,
    Region,
    ValuePlan,
)
from laydown.plan.picture.recipes import lost
from laydown.plan.picture.regions import pieces

WHITE = np.full(36, 0.86)
MARROW = Colorant("Marrow", "Orchard", code="m/17-b")
PLUM = Colorant("Plum skin", "Orchard")
MOSS = Colorant("Moss on the wall", "Orchard")
CLEAR = Colorant("Rinse", "Orchard", blender=True)


def recipe(*steps: tuple[Colorant, int], **last: object) -> Recipe:
    """Lay colorants in so many coats; keywords go to the last laydown."""
    laid = [Step(colorant, Laydown(coats=coats)) for colorant, coats in steps]
    if last and steps:
        laid[-1] = Step(steps[-1][0], Laydown(coats=steps[-1][1], **last))  # type: ignore[arg-type]
    return Recipe(tuple(laid))


def candidate(
    laid: Recipe,
    lab: tuple[float, float, float],
    *,
    wanted: tuple[float, float, float],
    verdict: Verdict = Verdict.SAME,
    acceptance: float = 0.64,
    words: str = "a touch too dark, a little yellower",
    spread: float = 1.0,
    mud: Mud | None = None,
) -> Candidate:
    """Judge a recipe by hand."""
    far = float(np.linalg.norm(np.subtract(lab, wanted)) / 2.0)
    off = Difference(far, (lab[0] - wanted[0]) / 10.0, 3.0, -1.0, words)
    seen = Prediction(laid, WHITE, np.array(lab, dtype=float), np.eye(3) * spread**2)
    return Candidate(
        seen, far, off, seen.covariance, acceptance, verdict, ("Lay it; let it dry.",), mud
    )


def match(
    name: str = "Rind in the light",
    *,
    passage: str = "Lemons",
    role: str = "highlight",
    wanted: tuple[float, float, float] = (86.0, -4.0, 60.0),
    best: Candidate | None = None,
    notes: tuple[str, ...] = (),
    next_swatch: str = "",
    origin: Origin = Origin.MEASURED,
) -> Match:
    """Make a match; without a best candidate, two coats of one colorant."""
    one = candidate(recipe((MARROW, 2)), (84.0, -2.0, 55.0), wanted=wanted)
    best = best or one
    target = Target(name, np.array(wanted), passage, role, origin=origin)
    return Match(target, best, one, (one,), 4321, notes, next_swatch)


def chart(
    *matches: Match,
    title: str = "Lemons in a blue bowl",
    notes: tuple[str, ...] = (),
    paper: Paper | None = None,
    kit: str = "Orchard",
    tolerance: str = "class",
) -> Chart:
    """Make a chart whose layers darken step by step, as nobody's marker does."""
    paper = paper or Paper("Gannet smooth", WHITE)
    bare = Chart(title, kit, paper, matches, tolerance, notes)
    last = {m.best.prediction.recipe: m.best.prediction.lab for m in matches}
    return with_layers(bare, lambda pile: last.get(pile, np.array([90.0 - 9 * pile.coats, 4, 30])))


def mixed_chart(rows: int = 12) -> Chart:
    """Make a chart with every verdict, mud, a long name, bare paper, a color off the screen."""
    deep, pale = (22.0, 14.0, -46.0), (88.0, -3.0, 30.0)
    muddy = Mud(
        14.0,
        ("Marrow", "Plum skin"),
        "Marrow and Plum skin turn muddy (chroma 14 lost); cleaner: Moss on the wall*2.",
        recipe((MOSS, 2)),
    )
    kinds = [
        match(),
        match(
            "Rind turning from the light",
            role="midtone",
            wanted=(71.0, 8.0, 46.0),
            best=candidate(
                recipe((MARROW, 2), (PLUM, 1), (MARROW, 1)),
                (66.0, 9.0, 40.0),
                wanted=(71.0, 8.0, 46.0),
                verdict=Verdict.BUT_VALUE,
                words="half a value step too dark, a little yellower, duller",
                mud=muddy,
                spread=2.5,
            ),
        ),
        match(
            "The bowl's far side, where the cloth throws its light back into the shade",
            passage="Bowl",
            role="shadow",
            wanted=deep,
            best=candidate(
                recipe((PLUM, 3), (CLEAR, 1), wait=Wait.WET, stroke=Stroke.SOAKED),
                (34.0, 10.0, -30.0),
                wanted=deep,
                verdict=Verdict.OUT_OF_REACH,
                acceptance=0.004,
                words="one value step too light, much duller",
                spread=4.0,
            ),
            notes=("Out of reach: of all 41,230 recipes none comes closer than 9.8 (CIEDE2000).",),
            next_swatch="Two coats of Plum skin on Gannet smooth.",
        ),
        match(
            "Glaze",
            passage="Bowl",
            role="highlight",
            wanted=pale,
            best=candidate(
                recipe((MOSS, 1)),
                (88.0, -2.0, 29.0),
                wanted=pale,
                verdict=Verdict.BUT_HUE,
                acceptance=0.97,
                words="redder",
                spread=0.2,
            ),
        ),
        match(
            "Table",
            passage="",
            role="",
            wanted=(93.0, 0.0, 1.0),
            best=candidate(
                Recipe(),
                (94.0, 0.0, 0.0),
                wanted=(93.0, 0.0, 1.0),
                words="no difference worth naming",
            ),
        ),
        match(
            "Leaf",
            passage="",
            role="accent",
            wanted=(60.0, -90.0, 60.0),
            best=candidate(
                recipe((MOSS, 2), (MARROW, 1)),
                (58.0, -40.0, 40.0),
                wanted=(60.0, -90.0, 60.0),
                verdict=Verdict.ANOTHER_LAYER,
                acceptance=0.2,
                words="duller",
            ),
            origin=Origin.SCREEN,
            notes=("One more step would bring it: Moss on the wall.",),
        ),
    ]
    shared = "Assumed, since no swatch tells it yet: lift."
    listed = [kinds[i * len(kinds) // rows] for i in range(rows)] if rows else []
    listed = [_with_note(m, shared) for m in listed]
    return chart(*listed, notes=("All colorants, swatches and colors here are invented.",))


def _with_note(given: Match, note: str) -> Match:
    return Match(
        given.target,
        given.best,
        given.single,
        given.alternatives,
        given.considered,
        (*given.notes, note),
        given.next_swatch,
    )


def picture_plan(*, kits: tuple[str, ...] = ("Orchard",), valued: bool = False) -> PicturePlan:
    """Plan an invented picture: soft shapes in four values, two colors each, of many regions."""
    field = ndimage.gaussian_filter(np.random.default_rng(3).normal(size=(180, 240)), 9)
    step = np.digitize(field / field.std(), [-0.9, 0.0, 0.9]).astype(np.int32)
    color = 2 * (3 - step) + 1 + (np.arange(240) > 120)
    labels = pieces(color.astype(np.int32))
    lightness, hue = (85.0, 65.0, 45.0, 25.0), ((10.0, 30.0), (-4.0, -20.0))
    palette = tuple(
        PaletteColor(
            n,
            3 - (n - 1) // 2,
            np.array([lightness[(n - 1) // 2], *hue[(n - 1) % 2]]),
            float((color == n).mean() * 100),
        )
        for n in range(1, 9)
    )
    regions = []
    for number in range(1, int(labels.max()) + 1):
        inside = labels == number
        found = palette[int(color[inside][0]) - 1]
        share = float(inside.mean() * 100)
        shown = 0 if valued else found.number
        regions.append(Region(number, shown, found.value_step, found.lab, share))
    seen = np.array([c.lab for c in palette])[color - 1] + 1.0
    values = ValuePlan(
        labels, np.array([3.5, 5.5, 7.5]), np.array([2.5, 4.5, 6.5, 8.5]), tuple(regions), 120.0
    )
    plan = PicturePlan(
        "Lemons <in> a blue bowl", PlanRules(), values, () if valued else palette, seen,
        notes=("Its light is balanced by bare paper.",),
    )  # fmt: skip
    return replace(plan, kits=tuple(_kit_picture(plan, name) for name in kits))


def _kit_picture(plan: PicturePlan, name: str) -> KitPicture:
    matches = []
    for color, verdict in zip(plan.palette, [*Verdict, *Verdict], strict=False):
        wanted = tuple(color.lab.tolist())
        got = (wanted[0] + 3.0, wanted[1], wanted[2] * 0.8)
        best = candidate(recipe((MARROW, 2), (PLUM, 1)), got, wanted=wanted, verdict=verdict)
        matches.append(match(str(color.number), passage="", role="", wanted=wanted, best=best))
    labs = np.array([m.best.prediction.lab for m in matches])
    beyond = [n for n, m in enumerate(matches, 1) if m.best.verdict is Verdict.OUT_OF_REACH]
    notes = ("All colorants here are invented.",)
    return KitPicture(name, "Gannet smooth", False, tuple(matches), lost(plan, labs, beyond), notes)


@pytest.fixture(scope="session")
def make_picture_plan() -> Callable[..., PicturePlan]:
    """Make the plan of an invented picture."""
    return picture_plan


@pytest.fixture
def mixed() -> Callable[[int], Chart]:
    """Make a chart of so many rows of every kind."""
    return mixed_chart


@pytest.fixture
def make_chart() -> Callable[..., Chart]:
    """Make a chart of given matches."""
    return chart


@pytest.fixture
def make_match() -> Callable[..., Match]:
    """Make one match."""
    return match


@pytest.fixture
def make_candidate() -> Callable[..., Candidate]:
    """Make one candidate."""
    return candidate
