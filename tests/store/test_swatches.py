from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from types import SimpleNamespace

import numpy as np
import pytest

from laydown.color.lab import xyz_from_reflectance
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.errors import BadRecipeError, DuplicateNameError, LaydownError, UnknownNameError
from laydown.media.laydown import Laydown, Pressure, Stroke, Wait
from laydown.media.recipe import (
    Colorant,
    Medium,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    mixture,
)
from laydown.media.swatch import Basis, Swatch
from laydown.store.library import Library


def test_a_swatch_comes_back_as_it_was(any_library: Library) -> None:
    """Every field of a swatch, and every bit of its spectrum, survives."""
    pan = Colorant("Rust", "Quayside", Medium.WASH, code="7/r", blender=False)
    recipe = Recipe(
        (
            Step(pan, Laydown(3, Stroke.SOAKED, Pressure.HEAVY, 0.3, Wait.WET)),
            TreatmentStep(Treatment.SOLVENT, Tool.SWAB),
            Step(pan, Laydown()),
            mixture((2, pan), (1, Colorant("Reed", "Quayside", Medium.WASH))),
        )
    )
    values = np.random.default_rng(4).uniform(0, 1.2, 36)
    flags = frozenset({"above-white", "extended-bands"})
    given = Swatch("Gannet smooth", recipe, values, Basis.SPECTRUM, 0.7, flags)
    when = datetime(2026, 5, 4, 20, 30, tzinfo=timezone(timedelta(hours=2)))
    with any_library.work("take in") as work:
        work.add_swatches([given], when=when)
    with any_library.look() as work:
        (kept,) = work.swatches()
    assert kept.when == when.astimezone(UTC)
    assert kept.swatch.recipe == recipe
    assert np.array_equal(kept.swatch.reflectance, values)
    assert (kept.swatch.paper, kept.swatch.basis) == ("Gannet smooth", Basis.SPECTRUM)
    assert (kept.swatch.spread, kept.swatch.flags) == (0.7, flags)


def test_a_swatch_known_by_xyz_stays_so(library: Library) -> None:
    """The basis is kept, and the smooth reflectance has the XYZ it came from."""
    xyz = np.array([20.0, 18.0, 10.0])
    given = Swatch("Gannet smooth", Recipe(), reflectance_from_xyz(xyz), Basis.XYZ)
    with library.work("take in") as work:
        work.add_swatches([given])
        (kept,) = work.swatches()
    assert kept.swatch.basis == Basis.XYZ
    np.testing.assert_allclose(xyz_from_reflectance(kept.swatch.reflectance), xyz, atol=1e-6)


def test_taking_in_reports_what_is_new(library: Library, supplies: SimpleNamespace) -> None:
    """Ranges, papers and colorants that weren't known are added and named."""
    kelp, dune = supplies.one(supplies.kelp), supplies.one(supplies.dune)
    with library.work("take in") as work:
        first = work.add_swatches([supplies.swatch(kelp)])
        second = work.add_swatches([supplies.swatch(kelp, dune), supplies.swatch(paper="Heron")])
    assert first == ((), ("Estuary",), ("Gannet smooth",), (supplies.kelp,))
    assert second == ((), (), ("Heron",), (supplies.dune,))


def test_an_identical_swatch_is_skipped_and_reported(
    any_library: Library, supplies: SimpleNamespace
) -> None:
    """The same numbers for the same recipe on the same paper are one swatch told twice."""
    kelp = supplies.swatch(supplies.one(supplies.kelp))
    double = supplies.swatch(supplies.one(supplies.kelp, 2))
    with any_library.work("take in") as work:
        work.add_swatches([kelp])
    with any_library.work("take in again") as work:
        repeated, *_ = work.add_swatches([double, kelp, double])
        assert len(work.swatches()) == 2
    assert repeated == (1, 2)


def test_replicates_are_kept(library: Library, supplies: SimpleNamespace) -> None:
    """The same recipe measured a little differently, or with another spread, is a replicate."""
    step = supplies.one(supplies.kelp)
    with library.work("take in") as work:
        repeated, *_ = work.add_swatches(
            [
                supplies.swatch(step, level=0.4),
                supplies.swatch(step, level=0.4001),
                replace(supplies.swatch(step, level=0.4), spread=0.3),
            ]
        )
        assert len(work.swatches()) == 3
    assert repeated == ()


@pytest.mark.parametrize(
    ("asked", "levels"),
    [
        ({}, [0.85, 0.4, 0.3, 0.35, 0.2]),
        ({"range": "estuary"}, [0.4, 0.3, 0.35]),
        ({"range": "Orchard"}, [0.2]),
        ({"paper": "GANNET smooth"}, [0.85, 0.4, 0.3, 0.35, 0.2]),
        ({"colorant": Colorant("Dune", "Estuary")}, [0.35]),
    ],
)
def test_swatches_are_found_by_range_paper_and_colorant(
    full: Library, asked: dict[str, str], levels: list[float]
) -> None:
    """A range or colorant counts wherever in the recipe it is laid; order is that of taking in."""
    with full.look() as work:
        found = [float(kept.swatch.reflectance.mean()) for kept in work.swatches(**asked)]
    np.testing.assert_allclose(found, levels)


def test_a_colorant_in_a_mixture_is_found(library: Library) -> None:
    """A part of a mixture counts as laid, and other parts make another recipe."""
    loam, reed = (Colorant(name, "Pond", Medium.WASH) for name in ("Loam", "Reed"))
    level = np.full(36, 0.5)
    mixed = [
        Swatch("Gannet smooth", Recipe((mixture((n, loam), (1, reed)),)), level) for n in (1, 2)
    ]
    with library.work("take in") as work:
        assert work.add_swatches([*mixed, mixed[0]])[0] == (2,)
        assert len(work.swatches(colorant=reed)) == 2
        assert len(work.swatches(range="Pond")) == 2


def test_bare_paper_is_found_alone(full: Library) -> None:
    """Of the five swatches one is bare paper."""
    with full.look() as work:
        (bare,) = work.bare_paper("Gannet smooth")
    assert bare.swatch.recipe == Recipe()


def test_removing_needs_every_number_to_be_there(full: Library) -> None:
    """One unknown number and no swatch is removed."""
    with full.work("remove") as work:
        ids = [kept.id for kept in work.swatches()]
        with pytest.raises(UnknownNameError, match="no swatch number 999 here"):
            work.remove_swatches([ids[0], 999])
        assert len(work.swatches()) == 5
        assert work.remove_swatches(ids[:2]) == 2
        assert [kept.id for kept in work.swatches()] == ids[2:]


def test_all_or_nothing(library: Library, supplies: SimpleNamespace) -> None:
    """One swatch that can't be taken in and none is."""
    pencil = Colorant("Rope", "Estuary", Medium.PENCIL)

    def command() -> None:
        with library.work("take in") as work:
            work.add_swatches(
                [supplies.swatch(supplies.one(supplies.kelp)), supplies.swatch(Step(pencil))]
            )

    with pytest.raises(DuplicateNameError, match="“Estuary” is a set of markers already"):
        command()
    with library.look() as work:
        assert work.swatches() == ()


def test_the_hash_covers_what_a_fit_rests_on(full: Library, supplies: SimpleNamespace) -> None:
    """Another swatch, coats limit or code of the range changes it; another range's swatch not."""
    paper = "Gannet smooth"
    seen = set()
    changes: list[Callable[..., object]] = [
        lambda work: None,
        lambda work: work.add_swatches([supplies.swatch(supplies.one(supplies.dune))]),
        lambda work: work.add_swatches([supplies.swatch(level=0.851)]),
        lambda work: work.set_coats_limit(paper, 3),
        lambda work: work.add_colorants([Colorant("Dune", "Estuary", code="d")]),
    ]
    with full.work("change") as work:
        for change in changes:
            change(work)
            seen.add(work.swatch_hash(["Estuary"], paper))
        assert len(seen) == len(changes)
        before = work.swatch_hash(["estuary"], paper)
        work.add_swatches([supplies.swatch(supplies.one(supplies.fig), level=0.21)])
        work.add_swatches([supplies.swatch(supplies.one(supplies.dune), paper="Heron laid")])
        assert work.swatch_hash(["Estuary"], paper) == before


def test_the_hash_forgets_the_order(
    library: Library, supplies: SimpleNamespace, tmp_path: object
) -> None:
    """Swatches taken in in another order give the same hash."""
    swatches = [supplies.swatch(supplies.one(supplies.kelp, n), level=n / 10) for n in (1, 2, 3)]
    with library.work("take in") as work:
        work.add_swatches(swatches)
        first = work.swatch_hash(["Estuary"], "Gannet smooth")
    library.undo()
    with library.work("take in") as work:
        work.add_swatches(swatches[::-1])
        assert work.swatch_hash(["Estuary"], "Gannet smooth") == first


def test_a_bad_paper_name_is_an_error_of_the_user(
    library: Library, supplies: SimpleNamespace
) -> None:
    """A swatch on a paper without a name is refused in words."""
    with library.work("take in") as work, pytest.raises(LaydownError, match="is empty"):
        work.add_swatches([supplies.swatch(paper="  ")])


def test_a_recipe_that_would_be_read_as_another_is_not_kept(library: Library) -> None:
    """A mixture with a name that looks like a further part is refused in a sentence."""
    odd, reed = Colorant("Loam + 1 x", "Pond"), Colorant("Reed", "Pond")
    laid = Swatch("Heron", Recipe((mixture((2, odd), (1, reed)),)), np.full(36, 0.5))
    with pytest.raises(BadRecipeError, match="would be read as another"), library.work("add") as w:
        w.add_swatches([laid])
    alone = Swatch("Heron", Recipe((Step(odd), Step(reed))), np.full(36, 0.5))
    with library.work("add") as work:
        work.add_swatches([alone])
        assert work.swatches()[0].swatch.recipe == alone.recipe


def test_a_recipe_is_found_by_its_colorants_however_they_were_written(library: Library) -> None:
    """A colorant written otherwise is the one that is there, and comes back by its first name."""
    kelp = Colorant("Kelp", "Estuary")
    third = Laydown(dilution=1 / 3)
    one, other = Step(kelp, third), Step(Colorant("KELP", "estuary"), third)
    with library.work("add") as work:
        repeated, *_ = work.add_swatches(
            [Swatch("Heron", Recipe((step,)), np.full(36, 0.5)) for step in (one, other)]
        )
        assert repeated == (1,)
        (kept,) = work.swatches(colorant=kelp)
    assert kept.swatch.recipe == Recipe((one,))
