"""The lightest sizes for which no demand exceeds 1: first of any size, then of those in stock.

An analysis is dear and tells of every demand its value and slopes. Between two analyses each demand is therefore
replaced by a sum of powers, one for each size, that has both, and also the slopes of the analysis before (two-point
exponents: G. M. Fadel, M. F. Riley, J. M. Barthelemy, Struct. Optim. 2 (1990) 117-124: from memory). The small convex
problem that is left (L. A. Schmit, C. Fleury, AIAA J. 18 (1980) 1252-1260: from memory) is solved by SciPy's SLSQP.
"""

from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from scipy.optimize import minimize

__all__ = ["Trial", "find_lightest", "find_lightest_in_stock"]

AIM = 0.999  # of a demand: what is found then meets 1, and not only nearly
SLACK = 1e-3  # of the least possible demand where that is above 1: by so much it may rise where that saves mass
EXCESS = 20.0  # what a demand exceeds 1 by weighs so many times as that share of the mass, where it can't be helped
REACH = 0.5  # largest first step in the logarithm of a size; less where steps turn round (K. Svanberg, 1987, in kind)
SETTLED = 1e-3  # relative, last change of both mass and largest demand
POWERS = (0.5, 4.0)  # sheets carry by t in their plane and by t³ in bending: our own range about these
HOPE = 1.005  # a model's demand up to which sizes in stock are worth an analysis
MOST_MOVED = 3  # plates that are moved at once, by a step of stock each, from the sizes rounded up


@dataclass(frozen=True, eq=False)
class Trial:
    """Sizes that were analysed.

    Attributes
    ----------
    sizes : ndarray, shape (n,)
    demand : ndarray, shape (n_demands,)
        At most 1 is good; NaN where it was not looked at.
    slope : ndarray, shape (n_demands, n)
        Change of each demand with each size; 0 may stand for demands that are far from 1.
    """

    sizes: np.ndarray
    demand: np.ndarray
    slope: np.ndarray

    @property
    def worst(self):
        """The largest demand."""
        return float(np.nanmax(self.demand))


@dataclass(frozen=True, eq=False)
class _Powers:
    """Demands near a trial, as sums of powers of the sizes: convex in the sizes' logarithms."""

    trial: Trial
    power: np.ndarray  # (n_demands, n), of the sign of the slope

    @classmethod
    def of(cls, trial, before=None):
        """About a trial; exponents from the slopes of the model `before`, else its own, else 1 and -1."""
        sign = np.where(trial.slope > 0, 1.0, -1.0)
        if before is None:
            return cls(trial, sign)
        step = np.log(trial.sizes / before.trial.sizes)
        with np.errstate(divide="ignore", invalid="ignore"):
            seen = sign * (1 + np.log(trial.slope / before.trial.slope) / step)
        is_seen = np.isfinite(seen) & (np.abs(step) > max(0.2 * np.abs(step).max(), 1e-6))
        return cls(trial, sign * np.clip(np.where(is_seen, seen, np.abs(before.power)), *POWERS))

    def demand(self, step):
        """At sizes `step` (..., n) further in their logarithms, shape (..., n_demands)."""
        gain = self.trial.slope * self.trial.sizes / self.power
        return np.nan_to_num(self.trial.demand) + (gain * np.expm1(self.power * step[..., None, :])).sum(axis=-1)

    def slope(self, step):
        """Its change with the step (n,), shape (n_demands, n)."""
        return self.trial.slope * self.trial.sizes * np.exp(self.power * step)


def find_lightest(analyse, weight, start, low, high, *, rounds=30, settled=SETTLED):
    """Sizes of least mass whose demands are at most 1; where there are none, of least largest demand.

    Parameters
    ----------
    analyse : callable
        Of sizes (n,); returns a `Trial`.
    weight, start, low, high : ndarray, shape (n,)
        Mass by size, first sizes, and bounds above 0.
    rounds : int
        Analyses at most.
    settled : float
        Relative, last change of both mass and largest demand.

    Returns
    -------
    best : Trial
    trials : list of Trial
        All, in their order.
    is_settled : bool
        Whether mass and largest demand had stopped moving.
    """
    trial, model = analyse(np.clip(start, low, high)), None
    trials, reach, former = [trial], np.full(len(weight), REACH), np.zeros(len(weight))
    is_quiet = is_settled = False
    while not is_settled and len(trials) < rounds:
        model = _Powers.of(trial, model)
        room = np.log([low / trial.sizes, high / trial.sizes])
        least = min(each.worst for each in trials)
        step = _best_step(model, weight * trial.sizes, np.maximum(room[0], -reach), np.minimum(room[1], reach), least)
        reach = np.where(step * former < 0, 0.6 * reach, np.minimum(1.2 * reach, REACH))
        trial, former = analyse(np.clip(trial.sizes * np.exp(step), low, high)), step
        old, new = (np.array([each.worst, weight @ each.sizes]) for each in (trials[-1], trial))
        is_quiet, was_quiet = bool((np.abs(new - old) < settled * old).all()), is_quiet
        is_settled = is_quiet and (was_quiet or trial.worst <= 1)  # above 1 mass comes second, and later
        trials.append(trial)
    return _best(trials, weight), trials, is_settled


def find_lightest_in_stock(analyse, weight, near, stock, *, rounds=12):
    """Sizes in stock: rounded up, then the neighbours that are lighter, or that meet what the rounded ones miss.

    Parameters
    ----------
    analyse, weight
        As in `find_lightest`.
    near : sequence of Trial
        The last one is rounded; those before give exponents.
    stock : sequence of ndarray
        What there is of each size, ascending.
    rounds : int
        Analyses at most.

    Returns
    -------
    best : Trial
    tried : list of Trial
        The first one is the sizes rounded up.
    """
    model = None
    for trial in near:
        model = _Powers.of(trial, model)
    top = np.array([len(sizes) - 1 for sizes in stock])
    up = np.minimum([np.searchsorted(s, AIM * x) for s, x in zip(stock, near[-1].sizes)], top)
    pool = up + _moves(len(up))
    pool = pool[((pool >= 0) & (pool <= top)).all(axis=1)]
    sizes = np.stack([each[column] for each, column in zip(stock, pool.T)], axis=1)
    is_open, tried, models = np.ones(len(pool), dtype=bool), [], []
    chosen = 0  # the first move is none
    while chosen is not None and len(tried) < rounds:
        trial = analyse(sizes[chosen])
        tried.append(trial)
        models.append(_Powers.of(trial, model))
        is_open[chosen] = False
        chosen = _next(models, weight, sizes, is_open, _best(tried, weight))
    return _best(tried, weight), tried


def _best(trials, weight):
    """The lightest of those whose largest demand is at most 1; if none is, one of the least, and little else missed."""
    least = min(trial.worst for trial in trials)
    level = 1.0 if least <= 1 else least * (1 + 2 * SLACK)

    def cost(trial):
        excess = np.nansum(np.maximum(trial.demand - 1, 0.0))
        return weight @ trial.sizes / (weight @ trials[-1].sizes) + EXCESS * excess * (least > 1)

    return min((trial for trial in trials if trial.worst <= level), key=cost)


def _best_step(model, weight, low, high, least):
    """The step within bounds to the lightest sizes whose modelled demand is at most `AIM`.

    Where it can't be: the largest demand is hardly above the least of the model and of all trials, `least`; and what
    the others exceed `AIM` by is weighed against mass.
    """
    n, m = len(weight), len(model.power)
    first = _minimise(
        lambda v: v[n],
        lambda v: np.append(np.zeros(n), 1.0),
        np.append(np.zeros(n), max(model.trial.worst, AIM)),
        [*zip(low, high), (AIM, np.inf)],
        lambda v: v[n] - model.demand(v[:n]),
        lambda v: np.column_stack([-model.slope(v[:n]), np.ones(m)]),
    )
    start, share = np.clip(first[:n], low, high), weight / weight.sum()
    if first[n] < AIM * (1 + 1e-6):
        return _minimise(
            lambda y: share @ np.exp(y),
            lambda y: share * np.exp(y),
            start,
            [*zip(low, high)],
            lambda y: AIM - model.demand(y),
            lambda y: -model.slope(y),
        )
    is_better = first[n] < least * (1 - SLACK / 2)  # still to be bettered: mass has to wait
    level = first[n] * (1 + 1e-6) if is_better else max(first[n], least * (1 + SLACK))
    return _minimise(
        lambda v: share @ np.exp(v[:n]) + EXCESS * v[n:].sum(),
        lambda v: np.append(share * np.exp(v[:n]), np.full(m, EXCESS)),
        np.append(start, np.maximum(model.demand(start) - AIM, 0.0)),
        [*zip(low, high), *[(0.0, max(level - AIM, 0.0))] * m],
        lambda v: AIM + v[n:] - model.demand(v[:n]),
        lambda v: np.column_stack([-model.slope(v[:n]), np.eye(m)]),
    )[:n]


def _minimise(function, slope, start, bounds, room, room_slope):
    within = {"type": "ineq", "fun": room, "jac": room_slope}
    options = {"bounds": bounds, "constraints": within, "method": "SLSQP", "options": {"ftol": 1e-10}}
    return np.clip(minimize(function, start, jac=slope, **options).x, *np.transpose(bounds))


def _moves(n):
    """Steps of stock of at most `MOST_MOVED` of n sizes, shape (n_moves, n); the first is none."""
    moves = [np.zeros(n, dtype=int)]
    for k in range(1, min(n, MOST_MOVED) + 1):
        for which in combinations(range(n), k):
            for steps in product((-1, 1), repeat=k):
                moves.append(np.zeros(n, dtype=int))
                moves[-1][list(which)] = steps
    return np.array(moves)


def _next(models, weight, sizes, is_open, best):
    """Which sizes to analyse next, None if none gives hope to better the best: the lightest that should do."""
    steps = np.log(sizes[None] / np.array([model.trial.sizes for model in models])[:, None])  # (n_models, n_sizes, n)
    nearest = (steps**2).sum(axis=2).argmin(axis=0)
    worst = np.full(len(sizes), np.inf)
    for i, model in enumerate(models):
        worst[nearest == i] = model.demand(steps[i, nearest == i]).max(axis=1)
    mass = sizes @ weight
    does = is_open & (worst <= HOPE)
    if best.worst <= 1:
        does &= mass < weight @ best.sizes * (1 - 1e-9)
    if does.any():
        return int(np.flatnonzero(does)[mass[does].argmin()])
    worst[~is_open] = np.inf
    is_better = worst.min() < best.worst * (1 - 2 * SLACK)
    return int(worst.argmin()) if best.worst > 1 and is_better else None
