"""
What the pattern of errors over all marked speeds says about a shutter.

Every sign comes with a probability. Those that show in the errors over the speeds (all slow, the slow range
alone, a time added to every speed ...) are models that are weighed against each other by their marginal
likelihood; the rest (scatter, first firing, bounce, taper, capping) each have a measure of their own. How
often a sign is met and how large it then is stands in `pattern.toml`, marked practice: a probability is no
better than that. The Bayes factor of each sign is free of how often it is met, so whoever knows more about
this camera can put in a prior of his own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from pegwood.instruments.plain_data import interval_of, plain, u_of, value_of
from pegwood.instruments.shutter import _pattern_own as own
from pegwood.instruments.shutter._pattern_data import Knowledge, SignRow, knowledge
from pegwood.instruments.shutter._pattern_fit import Fit, Noise
from pegwood.instruments.shutter._pattern_reading import NoError, SpeedReading
from pegwood.instruments.shutter._pattern_shapes import shapes
from pegwood.instruments.shutter._pattern_shown import Shown, candidates, next_speed, shown
from pegwood.instruments.shutter.limits import KINDS
from pegwood.instruments.uncertainty import Mark, Measured

__all__ = ["NextSpeed", "NoError", "Pattern", "Sign", "SpeedReading", "what_the_pattern_says"]

METHOD = (
    "Models of the errors over the marked speeds, weighed by their marginal likelihood, with normal priors "
    "and an extra scatter between speeds. Scatter, first firing, bounce, taper and capping have measures of "
    "their own. How often a sign is met and how large it is: practice."
)
_LEAST_POWER = 0.5


@dataclass(frozen=True)
class Sign:
    """
    One thing the errors may show.

    Parameters
    ----------
    id, name : str
        For programs and for people.
    probability : float
        That the shutter shows it, all readings taken together, [-].
    prior : float
        The same before any reading, [-].
    tells : bool
        False where these readings could not show it if it were there: then the probability is next to its
        prior and says nothing.
    figure : Measured or None
        Its size if it is there; None where it has none or there is next to no chance of it.
    unit : "EV", "s" or "1"
        Of the figure; "1" is a share.
    figure_of : str
        What it is the figure of.
    speeds : tuple of str
        Markings it shows at.
    order : tuple of str
        What is usually done about it, first things first.
    caution : str
        Belongs beside the order.
    to_tell : str
        What to measure to tell, or to tell better.
    source, mark : str
        Whose advice it is, and how well that is known.
    """

    id: str
    name: str
    probability: float
    prior: float
    tells: bool
    figure: Measured | None
    unit: str
    figure_of: str
    speeds: tuple[str, ...]
    order: tuple[str, ...]
    caution: str
    to_tell: str
    source: str
    mark: Mark

    @property
    def log10_bayes_factor(self) -> float:
        """Odds with the readings over odds without, as a decimal logarithm held within -300 and 300, [-]."""
        return max(-300.0, min(300.0, _log10_odds(self.probability) - _log10_odds(self.prior)))

    def to_json(self) -> dict[str, Any]:
        """
        The sign as plain data.

        Returns
        -------
        data : dict
            Every number finite or None.
        """
        return {
            "sign": self.id,
            "name": self.name,
            "probability": plain(self.probability),
            "prior": plain(self.prior),
            "log10_bayes_factor": plain(self.log10_bayes_factor),
            "tells": self.tells,
            "figure": value_of(self.figure),
            "figure_u": u_of(self.figure),
            "figure_95": interval_of(self.figure),
            "unit": self.unit,
            "figure_of": self.figure_of,
            "speeds": list(self.speeds),
            "order": list(self.order),
            "caution": self.caution,
            "to_tell": self.to_tell,
            "source": self.source,
            "mark": self.mark,
        }


@dataclass(frozen=True)
class NextSpeed:
    """The marking whose error would tell most of what is still open, and how far answers differ there,
    [EV]."""

    marked: str
    differ_ev: float


@dataclass(frozen=True)
class Pattern:
    """
    What all readings of a shutter say together.

    Parameters
    ----------
    kind : str or None
        Kind of shutter, as far as known.
    readings : tuple of SpeedReading
        What it was drawn from, slowest first.
    signs : tuple of Sign
        All signs that this kind of shutter can show, the likeliest first; those that can't be told last.
    next : NextSpeed or None
        What to measure next, where that would decide something.
    first_left_out : bool
        True where first firings were left out of the errors because they are slow.
    notes : tuple of str
        What to know about it.
    """

    kind: str | None
    readings: tuple[SpeedReading, ...]
    signs: tuple[Sign, ...]
    next: NextSpeed | None
    first_left_out: bool
    notes: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """
        The pattern as plain data for strict JSON.

        Returns
        -------
        data : dict
            Every number finite or None.
        """
        return {
            "kind": self.kind,
            "method": METHOD,
            "speeds": [
                {
                    "marked": one.marked,
                    "marked_s": plain(one.target_s),
                    "error_ev": plain(one.error.value),
                    "error_u_ev": plain(one.error.u),
                    "n": one.n,
                }
                for one in self.readings
            ],
            "signs": [sign.to_json() for sign in self.signs],
            "next": None
            if self.next is None
            else {"marked": self.next.marked, "differ_ev": plain(self.next.differ_ev)},
            "first_left_out": self.first_left_out,
            "notes": list(self.notes),
        }


def what_the_pattern_says(readings: Iterable[SpeedReading], kind: str | None = None) -> Pattern:
    """
    Find out what all measured speeds of one shutter say together.

    Parameters
    ----------
    readings : iterable of SpeedReading
        In any order; several of one marking are readings of the same speed. None at all is no mistake: then
        every sign says what to measure.
    kind : str, optional
        One of `KINDS`: chooses the advice.

    Returns
    -------
    pattern : Pattern
        Every sign with its probability.

    Raises
    ------
    ValueError
        If the kind is unknown.

    Examples
    --------
    >>> found = {"1": 0.62, "1/4": 0.55, "1/15": 0.49, "1/60": 0.5, "1/250": 0.57}
    >>> target = {"1": 1.0, "1/4": 0.25, "1/15": 1 / 16, "1/60": 1 / 64, "1/250": 1 / 256}
    >>> pattern = what_the_pattern_says(
    ...     SpeedReading(marked, target[marked], Measured(error, 0.02), n=3)
    ...     for marked, error in found.items()
    ... )
    >>> pattern.signs[0].id, round(pattern.signs[0].figure.value, 1)
    ('all-slow', 0.5)
    """
    if kind is not None and kind not in KINDS:
        raise ValueError(f"No kind of shutter {kind!r}: expected one of {', '.join(KINDS)}")
    ordered = sorted(readings, key=lambda one: (-one.target_s, one.marked, repr(one)))
    return _said(tuple(ordered), kind)


@lru_cache(maxsize=64)
def _said(readings: tuple[SpeedReading, ...], kind: str | None) -> Pattern:
    known = knowledge()
    measured_so, first_left_out = _with_own_measure(readings, known)
    errors = _in_the_errors(readings, first_left_out, known)
    every = {**errors.signs, **measured_so}
    sound = [one.probability for name, one in measured_so.items() if one.tells]
    every["nothing-wrong"] = errors.sound(math.prod(1 - p for p in sound), known)
    rows = known.signs
    possible = [name for name in every if kind is None or rows[name].kind in (kind, "any")]
    signs = [_sign(rows[name], every[name], kind, known) for name in possible]
    return Pattern(
        kind=kind,
        readings=readings,
        signs=tuple(sorted(signs, key=lambda sign: (not sign.tells, -sign.probability, sign.id))),
        next=None if errors.next is None else NextSpeed(*errors.next),
        first_left_out=first_left_out,
        notes=_notes(readings, first_left_out),
    )


# --- signs in the errors over the marked speeds ------------------------------------------------------------


@dataclass(frozen=True)
class _InTheErrors:
    signs: dict[str, Shown]
    nothing: Shown
    next: tuple[str, float] | None

    def sound(self, share: float, known: Knowledge) -> Shown:
        """Nothing in the errors, and none of the signs that have a measure of their own."""
        one = self.nothing
        return Shown(one.probability * share, one.prior, one.tells, one.figure, one.speeds)


def _in_the_errors(readings: Sequence[SpeedReading], settled: bool, known: Knowledge) -> _InTheErrors:
    rows = [sign for sign in known.signs.values() if sign.shape not in ("own", "none")]
    if not readings:
        empty = {sign.id: Shown(sign.prior, sign.prior, False, None, ()) for sign in rows}
        sound = math.prod(1 - sign.prior for sign in rows)
        return _InTheErrors(empty, Shown(sound, sound, False, None, ()), None)
    times = np.array([one.target_s for one in readings])
    y, noise = _errors(readings, settled, known)
    odds = {sign.id: math.log(sign.prior / (1 - sign.prior)) for sign in rows}

    def fit(at_s: np.ndarray, most: int) -> Fit:
        hypotheses = shapes(at_s, len(times), known)
        log_odds = np.array([odds.get(name, 0.0) for name in hypotheses.names])
        return Fit(hypotheses, noise, log_odds, odds["no-pattern"], known.practice, most=most)

    markings = [one.marked for one in readings]
    offered = candidates(markings, times)
    whole, single = fit(np.append(times, [time for _, time in offered]), 2), fit(times, 1)
    every = whole.weigh(y)
    chances, weighed = whole.probabilities(every), every.heavy()
    told = {name: shown(whole, weighed, name, chances[name], markings) for name in ("", *odds)}
    distinct = len(np.unique(times))
    for name, one in told.items():
        row = known.signs[name or "nothing-wrong"]
        clear = one.probability > _LEAST_POWER or _would_show(single, name)
        told[name] = one.that_tells(distinct >= row.least_speeds and clear)
    nothing = told.pop("")
    open_ = any(0.1 < one.probability < 0.9 for one in (*told.values(), nothing))
    return _InTheErrors(told, nothing, next_speed(whole, weighed, offered) if open_ else None)


def _would_show(fit: Fit, name: str) -> bool:
    """Whether these speeds would show a sign of its usual size: it is put in, without noise, and weighed."""
    if name == "no-pattern":
        return True
    errors = fit.usual(name)
    return fit.probabilities(fit.weigh(errors))[name] > _LEAST_POWER


def _errors(readings: Sequence[SpeedReading], settled: bool, known: Knowledge) -> tuple[np.ndarray, Noise]:
    """Errors, without the first firings if they are slow, and what is uncertain about them."""
    every = _firings(readings, settled)
    values, variances = [], []
    for i, one in enumerate(readings):
        value, m = one.error.value, one.n
        if settled and one.first_firing is not None:
            value, m = value - one.first_firing.value / one.n, one.n - 1
        values.append(value)
        variances.append(_own_variance(one, every, i, m, known))
    names = sorted({(one.recorder, name) for one in readings for name, _ in one.common_u_ev})
    shared = [
        [dict(one.common_u_ev).get(name, 0.0) if one.recorder == recorder else 0.0 for one in readings]
        for recorder, name in names
    ]
    times = np.array([one.target_s for one in readings])
    loadings = np.array(shared).reshape(len(names), len(readings))
    return np.array(values), Noise(np.sqrt(variances), loadings, times[:, None] == times[None, :])


def _own_variance(
    one: SpeedReading, every: Sequence[own.Firings | None], i: int, m: int, known: Knowledge
) -> float:
    """
    Variance of a mean of `m` firings that it shares with no other, [EV^2].

    The scatter of few firings is poorly known: its variance is the mean of the posterior that takes the
    scatter of the other speeds and of sound shutters as prior.
    """
    practice = known.practice
    others, _ = own.pooled_variance([f for j, f in enumerate(every) if f is not None and j != i], practice)
    here = every[i]
    df = 0.0 if here is None else here.df
    squares = 0.0 if here is None else here.df * here.spread_ev**2
    firing = (practice.firing_df * others + squares) / (practice.firing_df + df - 2)
    common = sum(u**2 for _, u in one.common_u_ev)
    rest = max(one.error.u**2 - common - one.repeat_u_ev**2, 0.0)
    if one.n == 1:  # all of it may be noise of that one firing, of few degrees of freedom
        rest *= min(one.error.df / (one.error.df - 2), 3.0) if one.error.df > 2 else 3.0
    return max(firing, one.noise_ev**2) / m + rest


def _firings(readings: Sequence[SpeedReading], settled: bool) -> list[own.Firings | None]:
    """Scatter of each recording; where first firings are slow, that of the firings after the first."""
    found: list[own.Firings | None] = []
    for one in readings:
        if settled:
            found.append(_after_the_first(one))
        elif one.spread_ev is None or one.n < 2:
            found.append(None)
        else:
            found.append(own.Firings(one.marked, one.spread_ev, one.n - 1, one.noise_ev))
    return found


def _after_the_first(one: SpeedReading) -> own.Firings | None:
    """Scatter of the firings after the first: it is in the uncertainty of the first firing's effect."""
    if one.first_firing is None or one.n < 3:
        return None
    spread = one.first_firing.u / math.sqrt(1 + 1 / (one.n - 1))
    return own.Firings(one.marked, spread, one.n - 2, one.noise_ev)


# --- signs with a measure of their own ----------------------------------------------------------------


def _with_own_measure(readings: Sequence[SpeedReading], known: Knowledge) -> tuple[dict[str, Shown], bool]:
    practice = known.practice
    first = _first_firing(readings, known)
    settled = first.probability > 0.5
    firings = [one for one in _firings(readings, settled) if one is not None]
    scatter = own.scatter(firings, practice)
    enough = first.tells  # of two firings, one slow first looks like scatter
    found = {
        "first-firing-slow": first,
        "scatter": Shown(scatter.probability, scatter.prior, enough, scatter.figure, scatter.speeds),
        "bounce": _bounce(readings, known),
        "capping": _capping(readings, known),
    }
    tapers = [
        own.Taper(one.marked, one.target_s * 2**one.error.value, one.taper)
        for one in readings
        if one.taper is not None
    ]
    if tapers:
        late, early = own.taper(tapers, practice)
    else:
        late, early = own.taper([own.Taper("", practice.fast_full_s, Measured(0.0, 1e6))], practice)
    for name, one in (("taper-late", late), ("taper-early", early)):
        figure = one.figure if tapers else None
        found[name] = Shown(one.probability, one.prior, bool(tapers), figure, one.speeds if tapers else ())
    return found, settled


def _first_firing(readings: Sequence[SpeedReading], known: Knowledge) -> Shown:
    prior = known.signs["first-firing-slow"].prior
    effects, firings = [], []
    for one in readings:
        after = _after_the_first(one)
        if after is not None and one.first_firing is not None:
            effects.append((one.marked, one.first_firing, one.n - 1))
            firings.append(after)
    if not effects:
        return Shown(prior, prior, False, None, ())
    said = own.first_firing(effects, firings, known.practice, prior)
    return Shown(said.probability, prior, True, said.figure, said.speeds)


def _bounce(readings: Sequence[SpeedReading], known: Knowledge) -> Shown:
    prior = known.signs["bounce"].prior
    n, found = sum(one.n for one in readings), sum(one.bounced for one in readings)
    p = own.counted(found, n, known.practice, prior)
    where = [one for one in readings if one.bounced]
    most = max(where, key=lambda one: one.bounce_ev, default=None)
    # a bounce of one length adds most to the shortest time: a mean over the speeds would say little of any
    figure = None if most is None else Measured(most.bounce_ev, most.noise_ev / math.sqrt(most.bounced))
    return Shown(p, prior, n > 0, figure, tuple(dict.fromkeys(one.marked for one in where)))


def _capping(readings: Sequence[SpeedReading], known: Knowledge) -> Shown:
    prior, practice = known.signs["capping"].prior, known.practice
    watched = [one for one in readings if one.watched]
    if not watched:
        return Shown(prior, prior, False, None, ())
    capped = [one for one in watched if one.capped]
    # it shows at the fast end only: slower speeds, where nothing capped, speak neither way
    slowest = max(one.target_s for one in capped) if capped else min(one.target_s for one in watched)
    chosen = [one for one in watched if one.target_s <= slowest]
    n, found = sum(one.watched for one in chosen), sum(one.capped for one in chosen)
    a, b = found + practice.share_a, n - found + practice.share_b
    share = Measured(a / (a + b), math.sqrt(a * b / (a + b + 1)) / (a + b))
    p = own.counted(found, n, practice, prior)
    return Shown(p, prior, True, share if found else None, tuple(dict.fromkeys(one.marked for one in capped)))


# --- in words -----------------------------------------------------------------------------------------

_UNITS = {"slow-speeds-equal": "s", "time-added": "s", "time-missing": "s", "capping": "1"}


def _sign(row: SignRow, said: Shown, kind: str | None, known: Knowledge) -> Sign:
    advice = known.advice_for(row.id, kind)
    assert advice is not None, "the table is refused if a sign has no advice"
    return Sign(
        id=row.id,
        name=row.name,
        probability=min(max(said.probability, 0.0), 1.0),
        prior=said.prior,
        tells=said.tells,
        figure=said.figure,
        unit=_UNITS.get(row.id, "EV"),
        figure_of=row.figure,
        speeds=said.speeds,
        order=advice.order,
        caution=advice.caution,
        to_tell=row.to_tell,
        source=advice.source,
        mark=advice.mark,
    )


def _notes(readings: Sequence[SpeedReading], first_left_out: bool) -> tuple[str, ...]:
    notes = []
    if first_left_out:
        notes.append("First firings are slow and were left out of the errors of the speeds.")
    if single := [one.marked for one in readings if one.n == 1]:
        notes.append(f"One firing only of {', '.join(single)}: three to five tell the scatter too.")
    return tuple(notes)


def _log10_odds(p: float) -> float:
    p = min(max(p, 1e-300), 1.0)
    return math.log10(p) - (math.log10(1 - p) if p < 1 else -300.0)
