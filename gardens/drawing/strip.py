"""One tree over the years: what it was, solid; what it is expected to be, dotted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from gardens.training.state import Forecast, Limb, TreeState

from .canvas import Canvas, at, polyline_path
from .figure import Figure, build_figure, paint_tree
from .frame import Frame, Reach, View
from .geometry import Box
from .lettering import LETTER, Face, put_words, shortened
from .page import document
from .skeleton import STEM_KINDS, build_skeleton, wanted_angle
from .style import Options, Width
from .words import FORM_WORDS, TITLE_LENGTH, cut

WIDTH = Width()
LEAST_PANEL = 32.0
GAP = 3.0
FOOT = 7.5
MOST_EXPECTED = 3
FALLBACK_YEARS = 4


@dataclass(frozen=True, slots=True)
class Panel:
    """One year of the strip."""

    state: TreeState
    caption: str
    is_expected: bool


def draw_strip(states: Sequence[TreeState], forecast: Forecast | None = None, options: Options | None = None) -> str:
    """The tree year by year, all at one scale; with a forecast, the years to come up to the one it is full in.

    Raises:
        ValueError: without any state.
    """
    if not states:
        raise ValueError("a strip needs at least one state of the tree")
    options = options or Options()
    past = sorted(states, key=lambda state: state.on)
    panels = [Panel(state, str(state.on.year), is_expected=False) for state in past]
    panels += _expected_panels(past[-1], forecast)
    reach = _reach(panels)
    columns, wide, scale = _grid(len(panels), reach, options)
    tall = reach.height / scale + FOOT
    rows = -(-len(panels) // columns)
    canvas = Canvas()
    for index, panel in enumerate(panels):
        row, column = divmod(index, columns)
        corner = (column * (wide + GAP) + GAP / 2, 1.0 + row * (tall + 1.0))
        box = Box(corner[0], corner[1], corner[0] + wide, corner[1] + tall)
        _draw_panel(canvas, panel, (box, scale, reach), replace(options, id_prefix=f"{options.id_prefix}-{index + 1}"))
    height = 1.0 + rows * (tall + 1.0)
    return document(canvas.content(), (options.paper_width, height), _words(panels, forecast, options), options)


def expected_state(last: TreeState, forecast: Forecast, year: int) -> TreeState:
    """The tree as the forecast has it in a year to come: limbs in their final place, at the length half of such trees
    have by then (growing evenly from their tier's year to the year the form is full)."""
    full = forecast.full_p50 or forecast.full_p90 or last.on.year + FALLBACK_YEARS
    starts = {tier: p50 for tier, _, p50, _ in forecast.tiers}
    limbs = [
        _expected_limb(limb, last, (starts.get(limb.tier), full, year))
        for limb in last.limbs
        if limb.kind != "leader" or limb.parent == ""
    ]
    tops = [limb.origin_y_mm for limb in limbs if limb.parent in STEM_KINDS and limb.length_mm > 0]
    trunk = next((limb for limb in limbs if limb.kind == "trunk"), None)
    if trunk is not None and tops:
        limbs[limbs.index(trunk)] = replace(trunk, length_mm=max(tops))
    return replace(
        last, limbs=tuple(limbs), on=last.on.replace(year=year, day=1), ties=(), leader_height_mm=max([0, *tops])
    )


def _expected_limb(limb: Limb, last: TreeState, years: tuple[int | None, int, int]) -> Limb:
    starts, full, year = years
    if limb.kind == "trunk":
        return limb
    final = wanted_angle(limb, last.facts.form)
    if limb.length_mm > 0:
        now = last.on.year
        share = min(max((year - now) / max(full - now, 1), 0.0), 1.0)
        length = limb.length_mm + (max(limb.wanted_mm, limb.length_mm) - limb.length_mm) * share
    else:
        begin = starts if starts is not None else last.on.year + 1
        length = limb.wanted_mm * min(max((year - begin + 1) / max(full - begin + 1, 1), 0.0), 1.0)
    return replace(limb, length_mm=round(length), angle_deg=final, status="set" if length else "wanted", is_weak=False)


def _expected_panels(last: TreeState, forecast: Forecast | None) -> list[Panel]:
    if forecast is None or last.stage in ("full", "lost"):
        return []
    full = forecast.full_p50 or forecast.full_p90
    horizon = full or last.on.year + FALLBACK_YEARS
    ahead = horizon - last.on.year
    if ahead <= 0:
        return []
    count = min(ahead, MOST_EXPECTED)
    years = sorted({last.on.year + round(ahead * step / count) for step in range(1, count + 1)})
    return [
        Panel(
            expected_state(last, forecast, year), f"{year} {'full' if year == full else 'expected'}", is_expected=True
        )
        for year in years
    ]


def _reach(panels: list[Panel]) -> Reach:
    reach = Reach(-250.0, -60.0, 250.0, 400.0)
    for panel in panels:
        reach = reach.joined(build_skeleton(panel.state).reach(with_wanted=False))
    return Reach(reach.left - 60, min(reach.bottom - 30, -60.0), reach.right + 60, reach.top + 80)


def _grid(count: int, reach: Reach, options: Options) -> tuple[int, float, float]:
    """Columns, width of a panel and the one scale of all panels: few rows, unless more make the trees much larger."""
    width = options.paper_width
    most = max(min(count, int((width - GAP) / (LEAST_PANEL + GAP))), 1)
    best: tuple[int, float, float] | None = None
    for columns in range(most, 0, -1):
        rows = -(-count // columns)
        wide = (width - columns * GAP) / columns
        room = max(options.max_height_mm / rows - FOOT - 1.0, 6.0)
        scale = max(reach.width / wide, reach.height / room)
        if best is None or scale < best[2] * 0.8:
            best = (columns, wide, scale)
    return best or (1, width, reach.width / width)


def _draw_panel(canvas: Canvas, panel: Panel, place: tuple[Box, float, Reach], options: Options) -> None:
    box, scale, reach = place
    zero_x = (box.left + box.right) / 2 - (reach.left + reach.right) / 2 / scale
    zero = (zero_x, box.top + reach.top / scale)
    view = View(scale, zero)
    frame = Frame(box.right, box.bottom, Box(box.left, box.top, box.right, box.bottom - FOOT), view)
    fine = replace(options, compact=True, with_ghost=False, with_ties=False, tappable=False)
    _draw_wires(canvas, panel, frame, options)
    figure = build_figure(panel.state, view, box, fine)
    if panel.is_expected:
        _paint_expected(canvas, figure)
    else:
        paint_tree(canvas, figure)
    ground = view.place(0, 0)[1]
    canvas.add("path", d=f"M{at((box.left, ground))}L{at((box.right, ground))}", fill="none",
               stroke=options.ink.steel, stroke_width=WIDTH.ground, class_="ground")  # fmt: skip
    caption = shortened(panel.caption, box.width + GAP)
    where = ((box.left + box.right) / 2, ground + LETTER + 1.6)
    put_words(canvas, caption, where, options, Face("middle", is_bold=not panel.is_expected))


def _draw_wires(canvas: Canvas, panel: Panel, frame: Frame, options: Options) -> None:
    """The wires; pale behind the dots of a year to come, which they would swallow."""
    lines = ""
    for height in panel.state.facts.wire_heights_mm:
        y = frame.view.place(0, height)[1]
        if y >= frame.window.top:
            lines += f"M{at((frame.window.left, y))}L{at((frame.window.right, y))}"
    colour = options.ink.hint if panel.is_expected else options.ink.steel
    if lines:
        canvas.add("path", d=lines, fill="none", stroke=colour, stroke_width=WIDTH.wire, class_="wire")


def _paint_expected(canvas: Canvas, figure: Figure) -> None:
    """The tree to come, limb by limb in dots."""
    with canvas.group(fill="none", stroke=figure.options.ink.tie, stroke_linecap="round", class_="expected"):
        for key, trace in figure.traces.items():
            limb = figure.limb(key)
            dot = 1.3 if limb is not None and limb.kind in STEM_KINDS else 1.0
            canvas.add("path", d=polyline_path(trace.points), stroke_width=dot,
                       stroke_dasharray=f"0.01 {dot * 2:.1f}", data_limb=key)  # fmt: skip


def _words(panels: list[Panel], forecast: Forecast | None, options: Options) -> tuple[str, str]:
    first, facts = panels[0].state, panels[0].state.facts
    form = FORM_WORDS.get(facts.form, facts.form.replace("_", " "))
    parts = [f"{panel.caption}: {_sentence(panel)}" for panel in panels]
    if forecast is not None and forecast.full_p50:
        parts.append(f"Half of such trees are full by {forecast.full_p50}.")
        if forecast.full_p10 and forecast.full_p90:
            parts.append(f"Eight in ten are full between {forecast.full_p10} and {forecast.full_p90}.")
    title = options.title or f"{form}, {first.on.year} to {panels[-1].state.on.year}"
    return cut(title, TITLE_LENGTH), " ".join(parts)


def _sentence(panel: Panel) -> str:
    grown = sum(limb.length_mm for limb in panel.state.limbs if limb.kind not in STEM_KINDS)
    wanted = sum(max(limb.wanted_mm, limb.length_mm) for limb in panel.state.limbs if limb.kind not in STEM_KINDS)
    share = round(100 * grown / wanted) if wanted else 100
    return f"{share} % of the limbs' length{', expected' if panel.is_expected else ''}."
