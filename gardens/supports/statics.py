"""Wire statics: sag, tension and length of a wire between two level holds, and how its tension answers a load.

Units throughout: spans and sags in m, loads per metre in N/m, tensions in N, temperatures in °C.

Source of the formulas: parabola, catenary and the equation of state of a suspended wire as in any text on overhead
lines; the point-load terms follow from the same energy argument. `references` of the checks: see `tests/reference`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cosh, hypot, sinh
from typing import Literal

from gardens.supports.wires import Wire

CATENARY_FROM = 1 / 8
"""Above this ratio of sag to span the parabola is more than about 2 % out and the catenary is used."""

_UPPER_N = 1e6
Curve = Literal["parabola", "catenary"]


@dataclass(frozen=True, kw_only=True)
class Hang:
    """How a wire hangs: sag at mid-span [m], length [m], pull at its ends [N], and the curve reckoned with."""

    sag_m: float
    length_m: float
    end_tension_n: float
    curve: Curve


@dataclass(frozen=True, kw_only=True)
class Strung:
    """A wire as it was strung: its span [m] and the tension it was given [N].

    ``sharing_spans``: over how many equal spans it can slide when a single one of them is loaded (1: held at each).
    ``spring_n_per_m`` and ``run_m``: a spring in a run of that length softens the whole wire.
    """

    wire: Wire
    span_m: float
    tension_n: float
    sharing_spans: int = 1
    spring_n_per_m: float | None = None
    run_m: float | None = None

    def __post_init__(self) -> None:
        if self.span_m <= 0 or self.tension_n <= 0 or self.sharing_spans < 1:
            raise ValueError("span and tension must be above zero and the wire shared by at least one span")

    @property
    def stiffness_n(self) -> float:
        """E·A of wire and spring together: 1/(1/EA + 1/(k·run)). [N]"""
        if not self.spring_n_per_m:
            return self.wire.stiffness_n
        return 1 / (1 / self.wire.stiffness_n + 1 / (self.spring_n_per_m * (self.run_m or self.span_m)))


@dataclass(frozen=True, kw_only=True)
class Load:
    """What acts on a wire: per metre [N/m], at mid-span [N], and how much warmer it is than when strung [°C]."""

    per_metre_n: float
    point_n: float = 0.0
    warmer_c: float = 0.0


def parabola_sag_m(*, load_n_m: float, span_m: float, tension_n: float) -> float:
    """d = w·L²/(8·H). [m]"""
    _above_zero(span_m=span_m, tension_n=tension_n)
    return load_n_m * span_m**2 / (8 * tension_n)


def tension_for_sag_n(*, load_n_m: float, span_m: float, sag_m: float) -> float:
    """H = w·L²/(8·d), the horizontal tension that lets the wire hang so far. [N]"""
    _above_zero(span_m=span_m, sag_m=sag_m)
    return load_n_m * span_m**2 / (8 * sag_m)


def point_sag_m(*, point_n: float, span_m: float, tension_n: float, at_m: float | None = None) -> float:
    """d = P·x·(L−x)/(H·L); at mid-span P·L/(4·H). [m]

    Raises:
        ValueError: where the point lies outside the span.
    """
    _above_zero(span_m=span_m, tension_n=tension_n)
    at = span_m / 2 if at_m is None else at_m
    if not 0 <= at <= span_m:
        raise ValueError(f"the load at {at} m lies outside a span of {span_m} m")
    return point_n * at * (span_m - at) / (tension_n * span_m)


def parabola(*, load_n_m: float, span_m: float, tension_n: float) -> Hang:
    """The parabola of a wire loaded evenly along its span: S = L + 8d²/(3L), T = √(H² + (wL/2)²)."""
    sag = parabola_sag_m(load_n_m=load_n_m, span_m=span_m, tension_n=tension_n)
    return Hang(
        sag_m=sag,
        length_m=span_m + 8 * sag**2 / (3 * span_m),
        end_tension_n=hypot(tension_n, load_n_m * span_m / 2),
        curve="parabola",
    )


def catenary(*, load_n_m: float, span_m: float, tension_n: float) -> Hang:
    """The catenary of a wire under its own weight: a = H/w, d = a(cosh(L/2a) − 1), S = 2a·sinh(L/2a), T = H + w·d."""
    _above_zero(span_m=span_m, tension_n=tension_n, load_n_m=load_n_m)
    parameter = tension_n / load_n_m
    sag = parameter * (cosh(span_m / (2 * parameter)) - 1)
    return Hang(
        sag_m=sag,
        length_m=2 * parameter * sinh(span_m / (2 * parameter)),
        end_tension_n=tension_n + load_n_m * sag,
        curve="catenary",
    )


def hang(*, load_n_m: float, span_m: float, tension_n: float) -> Hang:
    """How the wire hangs, by the parabola where it is taut and by the catenary where it is slack."""
    flat = parabola(load_n_m=load_n_m, span_m=span_m, tension_n=tension_n)
    if flat.sag_m / span_m < CATENARY_FROM:
        return flat
    return catenary(load_n_m=load_n_m, span_m=span_m, tension_n=tension_n)


def sag_under_m(load: Load, *, span_m: float, tension_n: float) -> float:
    """Sag at mid-span under an even load and a load at mid-span: wL²/(8H) + PL/(4H). [m]"""
    if not load.point_n:
        return hang(load_n_m=load.per_metre_n, span_m=span_m, tension_n=tension_n).sag_m
    even = parabola_sag_m(load_n_m=load.per_metre_n, span_m=span_m, tension_n=tension_n)
    return even + point_sag_m(point_n=load.point_n, span_m=span_m, tension_n=tension_n)


def end_slopes(*, load_n_m: float, span_m: float, tension_n: float, rise_m: float) -> tuple[float, float]:
    """Slopes at the lower and upper hold where the holds differ in height: (Δ/L) ∓ wL/(2H). The sag below the chord
    at mid-span is the same as on the level."""
    _above_zero(span_m=span_m, tension_n=tension_n)
    chord, droop = rise_m / span_m, load_n_m * span_m / (2 * tension_n)
    return chord - droop, chord + droop


def loaded_tension_n(strung: Strung, load: Load) -> float:
    """Tension once a load, cold or warmth acts on a wire that was strung to a tension. [N]

    Solves the equation of state, which has one positive root:

        H = H₀ − EAα·Δθ + EA·[(w²L²/24 + wPL/8 + P²/8)/(N·H²) − w₀²L²/(24·H₀²)]

    with w₀ the wire's own weight. Elastic: whether a soft wire would stretch first is the caller's question.
    """
    low, high = 0.0, _UPPER_N
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if state_residual_n(strung, load, middle) < 0:
            low = middle
        else:
            high = middle
    return high


def unloaded_tension_n(strung: Strung, load: Load, tension_n: float) -> float:
    """The tension a wire was strung to, from the tension it has under a load now. [N]

    The equation of state read backwards; ``strung.tension_n`` is not looked at. A wire so slack that any tension
    explains it gives the least one.
    """
    low, high = 0.0, _UPPER_N
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if state_residual_n(replace(strung, tension_n=middle), load, tension_n) > 0:
            low = middle
        else:
            high = middle
    return high


def state_residual_n(strung: Strung, load: Load, tension_n: float) -> float:
    """Left side minus right side of the equation of state at a tension; 0 at the root, rising with it. [N]"""
    span, own = strung.span_m, strung.wire.weight_n_m
    even, point = load.per_metre_n, load.point_n
    bent = even**2 * span**2 / 24 + even * point * span / 8 + point**2 / 8
    strain_loaded = bent / (strung.sharing_spans * tension_n**2)
    strain_own = own**2 * span**2 / (24 * strung.tension_n**2)
    heat = strung.stiffness_n * strung.wire.expansion_per_c * load.warmer_c
    return tension_n - strung.tension_n + heat - strung.stiffness_n * (strain_loaded - strain_own)


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if value <= 0:
            raise ValueError(f"{name} must be above zero, not {value}")
