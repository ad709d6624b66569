"""Fit pencils or washes to swatches: the most probable numbers, and how sure they are.

Each colorant has one reference swatch, a step of its own on bare paper, from which its absorption
is taken whatever its scattering. The effects that all share, and each colorant's scattering and
amount, are then what makes the other swatches most probable (maximum a posteriori). White paper
tells scattering from absorption by how deep a heavy laydown goes; a dark ground tells it outright.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.film.laying import FilmGround, is_wet
from laydown.media.film.model import FILM_VERSION, FilmFit, film_forward
from laydown.media.film.priors import GUESSED, OWN, TREATMENTS, film_priors, on_top_priors
from laydown.media.inference import fitting
from laydown.media.inference.forward import Forward, Places, Variants
from laydown.media.inference.leeway import SEEN_SHAPES, reference_shapes
from laydown.media.inference.posterior import (
    GaussianPrior,
    leave_one_out,
    likeliest_hand,
    likeliest_noise,
    misfits_to_try,
)
from laydown.media.inference.prediction import with_residuals
from laydown.media.inference.priors import HELD, Noise, Priors
from laydown.media.laydown import Laydown, Pressure, Wait
from laydown.media.recipe import Colorant, Key, Medium, Paper, Recipe, Step, format_recipe, key_of
from laydown.media.swatch import Basis, Swatch, reading_noise

USUAL_COLORANTS = 6.0
"""As firmly as so many colorants would tell it, the usual spread of scattering is believed
(chosen)."""
LAB = 3
"""Features of CIELAB, which come first."""
BIN_NOISE = 1.5
"""Noise of a bin of four bands [its lightness], against that of a CIELAB axis; chosen."""
HUBER = 5.0
"""A swatch farther out than this many standard deviations weighs less."""
ODD = 7.0
"""A swatch farther out than this is named."""
TOGETHER = 4.0
"""By how much more the misfit of washes counts where twelve features are compared, not three: a
model misses all bands of a mixture together, so they say no more than its CIELAB does."""
PLAIN = 2.0
"""Of the model's misfit squared, what a wash alone may be off by in the fit: what deep swatches
show of their own pan mustn't tell how pans mix (chosen; developed on measured washes)."""
SINKS = 6.0
"""By how much the log probability of layers and mixtures left out must rise for a wash to be taken
to lie on top of the paper: measured washes sink in (chosen)."""
NOISE_ROUNDS = 2
"""How often noise and spreads are found anew; more change them by less than a tenth."""
ENOUGH = 1e-3
"""A step that lowers the cost by less for each swatch is the last one."""
AMOUNT_LIMIT = 2.5
"""How far a colorant's amount may be from the usual, in standard deviations."""
LIMITS = (4.0, 3.0, 3.0, 3.0)
"""How far its scattering may be from its range's; see `OWN`."""
HIDDEN_LIMIT = 3.0
"""The same of what XYZ may hide, in standard deviations."""


def features(reflectance: FloatArray, *, spectral: bool) -> FloatArray:
    """Return what the fit compares: CIELAB, and for spectra nine bins of four bands besides.

    `reflectance`: shape (…, 36). `spectral`: whether the spectrum was measured.

    >>> features(np.ones(36), spectral=True).shape
    (12,)
    """
    lab = lab_from_reflectance(reflectance)
    if not spectral:
        return lab
    light = 116.0 * np.cbrt(np.maximum(reflectance, 0.0))
    bins = light.reshape(*light.shape[:-1], 9, -1).mean(axis=-1) / BIN_NOISE
    return np.concatenate([lab, bins], axis=-1)


def is_plain(recipe: Recipe) -> bool:
    """Whether it is one step of one colorant on bare paper."""
    return recipe.only_step is not None and not recipe.only_step.mixed


def film_references(swatches: Sequence[Swatch]) -> dict[Key, fitting.Reference]:
    """Choose the reference of each colorant: the plainest laydown it was swatched in alone.

    `swatches`: all of them. By range and name; colorants that were only ever laid over
    others are missing.
    """
    alone: dict[Key, list[Swatch]] = {}
    for swatch in swatches:
        if is_plain(swatch.recipe):
            alone.setdefault(key_of(swatch.recipe.colorants[0]), []).append(swatch)
    return {key: _reference(listed) for key, listed in alone.items()}


def laydown_of(recipe: Recipe) -> Laydown:
    """Return how the first step of a recipe is laid."""
    step = recipe.steps[0]
    return step.laydown if isinstance(step, Step) else Laydown()


def _reference(listed: list[Swatch]) -> fitting.Reference:
    laydown = min((laydown_of(s.recipe) for s in listed), key=_oddity)
    chosen = [s for s in listed if laydown_of(s.recipe) == laydown]
    chosen = [s for s in chosen if s.basis is Basis.SPECTRUM] or chosen
    logs = np.log(np.maximum([s.reflectance for s in chosen], 1e-4))
    return fitting.Reference(
        np.exp(logs.mean(axis=0)),
        len(chosen),
        chosen[0].basis is Basis.XYZ,
        laydown,
        _deep(listed, laydown),
    )


def _deep(listed: list[Swatch], plainest: Laydown) -> tuple[Laydown, FloatArray] | None:
    """Return the deepest swatch of a wash: of more coats than the plainest, all else alike."""
    deeper = [
        s
        for s in listed
        if replace(laydown_of(s.recipe), coats=plainest.coats) == plainest
        and s.recipe.coats > plainest.coats
        and s.recipe.colorants[0].medium is Medium.WASH
    ]
    if not deeper:
        return None
    most = max(s.recipe.coats for s in deeper)
    logs = np.log(np.maximum([s.reflectance for s in deeper if s.recipe.coats == most], 1e-4))
    return replace(plainest, coats=most), np.exp(logs.mean(axis=0))


def _oddity(laid: Laydown) -> tuple[float, int, bool, bool]:
    return laid.dilution, laid.coats, laid.pressure is not Pressure.MEDIUM, laid.wait is Wait.WET


def fit_films(
    swatches: Sequence[Swatch],
    paper: Paper,
    medium: Medium,
    *,
    colorants: Sequence[Colorant] = (),
    priors: Priors | None = None,
) -> FilmFit:
    """Fit the swatches of one medium on one paper; measured dry.

    `swatches`: on this paper, of this medium only. One coat of each says what it adds; three
    (heavy) coats and layers over a dark one say how far it covers; light pressure or water, how the
    paper takes it. Those laid wet in wet are left out and noted. `paper`: what they lie on.
    `medium`: pencil or wash. `colorants`: those of the range, which sets the order. `priors`: what
    is taken for granted until swatches tell; the usual ones where None. Raises NotMeasuredError
    where no colorant is known, or one was never laid alone; BadRecipeError for a swatch of another
    medium; ValueError for one of another paper.

    Pencil: a coat of load m lies m exp(−(u/d)²) thick at depth u of the tooth, d by pressure; its
    load falls by exp(−fill M) with the load M below it. Wash: a step of n coats at dilution d is
    n^t (1 − d)^p plain coats thick, a little thicker in the valleys; it carries a share of every
    dry wash below it off, and it lies within the surface of what it is laid on
    (`laydown.media.film.film.sunk`). K and S of a palette mixture are the sums of its parts' by
    their shares (Duncan 1940). Each zone of the paper is a stack of films
    (`laydown.media.film.film`, Kubelka 1948 and 1954) and reflectances are averaged over the zones.
    Untrue for grain that the eye sees, wax that blooms, pigments that flock or stain, wet in wet,
    and edges.

    A wash is taken to sink in, or to lie on top, whichever tells layers and mixtures better that
    are left out in turn. What the model misses is told by these as well: swatches that were fitted
    say little of it.

    Source: D. R. Duncan, The colour of pigment mixtures, Proc. Phys. Soc. 52 (1940) 390–401; P.
    Kubelka, New contributions to the optics of intensely light-scattering materials, J. Opt. Soc.
    Am. 38 (1948) 448–457.

    >>> paper = Paper("Gannet smooth", np.full(36, 0.9))
    >>> loam = Colorant("Loam", "Pond", Medium.WASH)
    >>> one = Swatch(paper.name, Recipe((Step(loam),)), np.full(36, 0.5))
    >>> fit_films([one], paper, Medium.WASH).reflectance(one.recipe).round(6)[0].item()
    0.5
    """
    for swatch in swatches:
        if swatch.paper != paper.name:
            raise ValueError(f"a swatch on {swatch.paper!r} in a fit for {paper.name!r}")
    usual = priors or film_priors(medium)
    known = _FilmSwatches(swatches, paper, medium, colorants, usual)
    fitted, score = known.settled()
    if medium is Medium.WASH and priors is None and known.between:
        on_top = _FilmSwatches(swatches, paper, medium, colorants, on_top_priors())
        fitted_on_top, better = on_top.settled()
        if better > score + SINKS:
            known, fitted = on_top, fitted_on_top
    return with_residuals(known.assembled(fitted), swatches)


class _FilmSwatches:
    """What a fit starts from: E effects, then m = 5 + h numbers of each colorant's own.

    `references` are by range and name, and `order` has the colorants as arrays have them. `hidden`,
    shape (n, h, 36), is what spectra guessed from XYZ may hide; h is 0 where none was guessed. It
    stands among the own numbers of the models of `observations`: the swatches, each reference once
    and first. These `count` tell only whether they can be reached at all. `told` are the names of
    the effects that swatches tell. `usual` is what is taken for granted before any swatch, and
    `priors` the same with what the swatches tell of noise.
    """

    def __init__(
        self,
        swatches: Sequence[Swatch],
        paper: Paper,
        medium: Medium,
        colorants: Sequence[Colorant],
        priors: Priors,
    ) -> None:
        self.medium, self.paper, self.colorants = medium, paper, colorants
        self.usual = self.priors = priors
        self.wet = [format_recipe(s.recipe) for s in swatches if is_wet(s.recipe)]
        fitted = [s for s in swatches if s.recipe.steps and not is_wet(s.recipe)]
        self.references = film_references(fitted)
        self.order = fitting.known_colorants(colorants, fitted, self.references, paper)
        for colorant in (c for swatch in fitted for c in swatch.recipe.colorants):
            if key_of(colorant) not in self.references:
                raise NotMeasuredError(
                    f"{colorant.label} was never swatched alone on {paper.name}.",
                    hint=f"Lay one coat of {colorant.name} on bare paper, measure and import it.",
                )
        self.own = [self.references[key_of(c)] for c in self.order]
        hidden = np.array([_hidden(one, priors) for one in self.own])
        self.hidden = hidden if hidden.any() else hidden[:, :0]
        sunk = medium is Medium.WASH and priors is not on_top_priors()
        self.together = TOGETHER if sunk else 1.0
        plain = {s.recipe: s for s in fitted if self._is_reference(s)}
        layered = [s for s in fitted if not self._is_reference(s)]
        self.observations = [self._ready(s) for s in (*plain.values(), *layered)]
        self.count = len(plain)
        told = {i for one in self.observations[self.count :] for i in one.model.asked}
        self.told = frozenset(priors.names[i] for i in told)

    @property
    def shape(self) -> tuple[int, int]:
        """Colorants, and how many numbers each has of its own."""
        return len(self.order), len(OWN) + self.hidden.shape[1]

    @property
    def between(self) -> list[int]:
        """Which observations are of layers or mixtures."""
        seen = enumerate(self.observations)
        return [i for i, one in seen if not is_plain(one.model.recipe)]

    @property
    def units(self) -> FloatArray:
        """Shape (m,), what each of those is counted in: amounts in the hand's scatter."""
        return np.array([self.priors.noise.hand, *np.ones(self.shape[1] - 1)])

    @property
    def amounts(self) -> Places:
        """Places of the colorants' amounts among the parameters."""
        n, m = self.shape
        return len(self.priors.names) + m * np.arange(n)

    def _prior(self) -> GaussianPrior:
        n, m = self.shape
        hidden = np.ones(m - len(OWN))
        sd = np.tile([*self.priors.own_sd, *hidden], n)
        amount = AMOUNT_LIMIT * self.usual.own_sd[0]
        limit = np.tile([amount, *LIMITS, *(HIDDEN_LIMIT * hidden)], n)
        free = np.array([name in self.told for name in self.priors.names])
        return fitting.gaussian_prior(self.priors, sd**-2.0, limit=limit, free=free)

    def _is_reference(self, swatch: Swatch) -> bool:
        reference = self.references[key_of(swatch.recipe.colorants[0])]
        return is_plain(swatch.recipe) and laydown_of(swatch.recipe) == reference.laydown

    def _ready(self, swatch: Swatch) -> fitting.Observation:
        """Make a swatch ready for the fit."""
        keys = [key_of(colorant) for colorant in self.order]
        used = tuple(keys.index(key_of(c)) for c in swatch.recipe.colorants)
        told_by = [self.own[place] for place in used]
        spectral = swatch.basis is Basis.SPECTRUM and not any(r.xyz_only for r in told_by)
        plain = self._is_reference(swatch)
        ground = FilmGround(
            below=self.paper.reflectance,
            paper=self.paper.reflectance,
            references=np.array([r.reflectance for r in told_by]),
            laydowns=tuple(r.laydown for r in told_by),
        )
        model = film_forward(swatch.recipe, self.medium, ground, used=used, alike=1)
        reflect = partial(_reflect, model, self.hidden[list(used)], is_reference=plain)
        missed = 0.0 if plain else model.missed(self.priors.mean)
        if not plain and self.medium is Medium.WASH and is_plain(swatch.recipe):
            missed = PLAIN
        missed *= self.together if spectral else 1.0
        see = partial(features, spectral=spectral)
        return fitting.Observation(
            replace(model, reflect=reflect, missed=lambda _: missed),
            see(told_by[0].reflectance if plain else swatch.reflectance),
            reading_noise(swatch, self.priors.measuring),
            see,
        )

    def settled(self) -> tuple[fitting.Fitted, float]:
        """Fit, with noise found anew as often as changes it.

        Returns the fit, and the log of how likely what is left out is.
        """
        x = self._prior().mean
        for _ in range(NOISE_ROUNDS):
            x = self._learn_noise(self._fit_from(x))
        fitted = self._fit_from(x)
        return fitted, self._left_out(fitted)[1]

    def _fit_from(self, start: FloatArray) -> fitting.Fitted:
        """Find the most probable parameters for the noise as it is told so far."""
        e, units = len(self.priors.names), self.units

        def compare(x: FloatArray) -> fitting.Residuals:
            own = x[e:].reshape(self.shape) * units
            return fitting.compare(self.observations, x[:e], own, self.priors, units=units)

        return fitting.fit_parameters(
            compare,
            self._prior(),
            self.priors.noise,
            start,
            rounds=20,
            gain=ENOUGH * len(self.observations),
            longest=1.0,
            huber=HUBER,
            with_volume=False,
        )

    def _learn_noise(self, fitted: fitting.Fitted) -> FloatArray:
        """Take in the noise and spreads that the swatches tell; return the parameters with them.

        The references, which are what all else is told from, say nothing of noise.
        """
        e, noise = len(self.priors.names), self.priors.noise
        hand = noise.hand
        variance = np.diag(np.linalg.inv(fitted.precision))
        own, unsure = (a[e:].reshape(self.shape)[:, : len(OWN)] for a in (fitted.x, variance))
        spreads = likeliest_spreads(own, unsure, self.usual.own_sd)
        layered = slice(self.count, None)

        def log_likelihood(noise: Noise) -> float:
            precision = fitted.prior.precision.copy()
            precision[self.amounts] *= (hand / noise.hand) ** 2
            return fitted.log_likelihood(noise, precision, layered)

        if self.medium is Medium.WASH and self.observations[layered]:
            noise = likeliest_hand(log_likelihood, self.usual, noise)
            noise = replace(noise, misfit=self._left_out(fitted)[0])
        elif self.observations[layered]:
            noise = likeliest_noise(log_likelihood, self.usual, noise)
        x = fitted.x.copy()
        x[self.amounts] *= hand / noise.hand
        self.priors = replace(self.priors, own_sd=spreads, noise=noise)
        return x

    def _left_out(self, fitted: fitting.Fitted) -> tuple[float, float]:
        """Leave layers and mixtures out in turn, and find the misfit that makes them likeliest.

        Returns it with the log of how likely that is.

        What was fitted to a swatch tells little of what the model is off by elsewhere. They are
        judged by their CIELAB, in which predictions are made, not by their spectra.
        """
        which, usual, compared = self.between, self.usual, fitted.compared
        noise = self.priors.noise
        if not which:
            return noise.misfit, 0.0
        told, spread, _ = leave_one_out(
            compared.residual,
            compared.jacobian,
            compared.covariance(noise),
            fitted.trust,
            np.asarray(np.linalg.inv(fitted.precision)),
        )
        straight = compared.straight
        counted, spectral = straight.missed[which], straight.counts[which] > LAB
        times = counted / np.where(spectral, self.together, 1.0)
        off, rest = told[which, :LAB], spread[which, :LAB, :LAB]
        rest = rest - counted[:, None, None] * noise.misfit**2 * np.eye(LAB)

        def score(tried: float) -> float:
            covariance = rest + times[:, None, None] * tried**2 * np.eye(LAB)
            solved = np.linalg.solve(covariance, off[..., None])[..., 0]
            volume = np.linalg.slogdet(covariance)[1].sum()
            expected = usual.log_density(replace(usual.noise, misfit=tried))
            return float(expected - 0.5 * (np.einsum("ti,ti->", off, solved) + volume))

        best = max(misfits_to_try(usual), key=score)
        return best, score(best)

    def assembled(self, fitted: fitting.Fitted) -> FilmFit:
        """Return the fit."""
        x, e, (n, m) = fitted.x, len(self.priors.names), self.shape
        own, bent = np.split(x[e:].reshape(n, m) * self.units, [len(OWN)], axis=1)
        places = np.arange(e, e + n * m).reshape(n, m)
        kept = np.concatenate([np.arange(e), places[:, : len(OWN)].ravel()])
        units = np.concatenate([np.ones(e), np.tile(self.units[: len(OWN)], n)])
        covariance = np.linalg.inv(fitted.precision)[np.ix_(kept, kept)] * np.outer(units, units)
        recipes = tuple(one.model.recipe for one in self.observations)
        looks = np.array([r.reflectance for r in self.own])
        looks = looks * np.exp(np.einsum("nh,nhb->nb", bent, self.hidden))
        deep = [r.deep or (r.laydown, look) for r, look in zip(self.own, looks, strict=True)]
        plain = [name for name in self.priors.names if not name.startswith(TREATMENTS)]
        guessed = [float(r.xyz_only) for r in self.own]
        return FilmFit(
            model_version=FILM_VERSION,
            medium=self.medium,
            paper=self.paper,
            colorants=self.order,
            references=looks,
            reference_laydowns=tuple(r.laydown for r in self.own),
            deep_laydowns=tuple(laydown for laydown, _ in deep),
            deep=np.array([look for _, look in deep]),
            believed=self._believed(fitted),
            effects=x[:e],
            own=own,
            covariance=np.asarray(covariance),
            noise=self.priors.noise,
            measuring=self.priors.measuring,
            xyz_only=_hidden_left(fitted.precision, places[:, len(OWN) :]) * guessed,
            most_coats=fitting.most_coats(self.order, recipes),
            told=self.told,
            assumed=frozenset(plain) - self.told,
            odd=fitting.odd_swatches(self.observations, fitted.distances, limit=ODD),
            notes=self._notes(x),
            swatched=recipes,
        )

    def _believed(self, fitted: fitting.Fitted) -> FloatArray:
        """Return how far the deep swatch of each colorant is believed, shape (n,); 0 for none.

        Of what the model leaves of it the share that is the model's own fault, m²/(m² + noise²):
        the rest is instrument and hand, which the next laydown won't repeat.
        """
        model, believed = PLAIN * self.priors.noise.misfit**2, dict[Key, float]()
        lines = fitted.compared.straight.by_hand
        for one, line in zip(self.observations, lines, strict=True):
            recipe, key = one.model.recipe, key_of(one.model.recipe.colorants[0])
            deep = self.references[key].deep
            if deep and is_plain(recipe) and laydown_of(recipe) == deep[0]:
                by_hand = self.priors.noise.hand**2 * float((line[:LAB] ** 2).sum()) / LAB
                believed[key] = model / (model + one.measuring**2 + by_hand)
        return np.array([believed.get(key_of(c), 0.0) for c in self.order])

    def _notes(self, x: FloatArray) -> tuple[str, ...]:
        usual, e = self.usual, len(self.usual.names)
        notes = list(fitting.usual_notes(self.paper, self.colorants, self.order))
        told = np.array([name in self.told for name in usual.names]) & (usual.sd > HELD)
        notes += fitting.notes_on_ends(usual, x[:e], told, self.priors.noise)
        level = np.abs(x[e:].reshape(self.shape)[:, 1]) >= LIMITS[0]
        notes += [
            f"How much {c.name} covers came out at the end of what I can tell."
            for c, at_end in zip(self.order, level, strict=True)
            if at_end
        ]
        if self.wet:
            wet = ", ".join(self.wet)
            notes.append(f"Left out, since wet in wet is outside the model: {wet}.")
        if any(r.xyz_only for r in self.references.values()):
            notes.append(fitting.GUESSED_NOTE)
        return tuple(notes)


def _reflect(
    model: Forward, hidden: FloatArray, tried: Variants, *, is_reference: bool
) -> FloatArray:
    """Return reflectances, what XYZ hides standing among the own numbers.

    A reference is what its colorant is told from: neither amount nor hand make it another.
    """
    own, bent = np.split(tried.own.copy(), [tried.own.shape[-1] - len(hidden[0])], axis=-1)
    shapes = np.einsum("vuh,uhb->vub", bent, hidden)
    fresh = tried.fresh
    if is_reference:
        own[..., 0] = 0.0
        fresh = np.zeros_like(fresh)
    return model.reflect(replace(tried, own=own, shapes=shapes, fresh=fresh))


def _hidden(reference: fitting.Reference, priors: Priors) -> FloatArray:
    """Return what a spectrum guessed from XYZ may hide, shape (h, 36); none where it was measured.

    A deep laydown and layers show some of it: what XYZ doesn't see of one coat it sees of three.
    """
    seen = np.clip(reference.reflectance, 1e-4, None)
    shapes = reference_shapes(seen, measuring=priors.measuring, xyz_only=True)
    return GUESSED * shapes[SEEN_SHAPES:] * float(reference.xyz_only)


def likeliest_spreads(own: FloatArray, unsure: FloatArray, usual: FloatArray) -> FloatArray:
    """Return how far colorants differ in scattering, as those of the range do.

    One round of expectation and maximization: the mean square of what each has of its own, what
    is unsure of it included, the usual spreads counting as `USUAL_COLORANTS` more.

    `own`: shape (n, 5), see `laydown.media.film.priors.OWN`. `unsure`: shape (n, 5), its variance.
    `usual`: shape (5,); the amount's stays what it is.

    Six colorants all alike halve the usual variance.

    >>> alike = likeliest_spreads(np.zeros((6, 5)), np.zeros((6, 5)), np.full(5, 0.4))
    >>> alike.round(3).tolist()
    [0.4, 0.283, 0.283, 0.283, 0.283]
    """
    squares = (own**2 + unsure).sum(axis=0)
    found = np.sqrt((USUAL_COLORANTS * usual**2 + squares) / (USUAL_COLORANTS + len(own)))
    return np.where(np.arange(len(usual)) == 0, usual, found)


def _hidden_left(precision: FloatArray, places: Places) -> FloatArray:
    """Return which share of what XYZ hides is still open, by colorant, all else known."""
    if not places.size:
        return np.zeros(len(places))
    block = precision[np.ix_(places.ravel(), places.ravel())]
    variances = np.diag(np.linalg.inv(block)).reshape(places.shape)
    return np.asarray(np.sqrt(variances.mean(axis=1)))
