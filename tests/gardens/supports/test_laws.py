"""Laws that hold whatever the numbers: more tension, less sag; thicker wire, never weaker; longer run, longer bill."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gardens.knowledge.material_book import materials
from gardens.supports import (
    Load,
    Strung,
    bill_of_materials,
    check_support,
    gauge_mm,
    hang,
    layout_of,
    load_wires,
    loaded_tension_n,
    wire,
)
from gardens.supports.ground import code_depth_free_m, sideways_hold_n
from gardens.supports.statics import parabola_sag_m, sag_under_m, state_residual_n, unloaded_tension_n
from tests.gardens.supports.stands import row, there, wall

law = settings(deadline=None, derandomize=True, max_examples=60)

GRADES = sorted(materials().grades)
tensions = st.floats(50, 2500)
spans = st.floats(0.5, 8)
loads = st.floats(0.1, 120)
sizes = st.floats(1.2, 5)


@law
@given(tensions, tensions, spans, loads)
def test_more_tension_means_less_sag(one, other, span, load):
    low, high = sorted((one, other))
    slack, taut = (hang(load_n_m=load, span_m=span, tension_n=tension).sag_m for tension in (low, high))
    assert taut <= slack * (1 + 1e-9) or taut == pytest.approx(slack, rel=0.03)


@law
@given(tensions, tensions, st.floats(0.8, 4), loads)
def test_wire_strung_tighter_stays_tighter_under_load(one, other, span, load):
    low, high = sorted((one, other))
    strung = [Strung(wire=wire(2.5, grade="high_tensile"), span_m=span, tension_n=tension) for tension in (low, high)]
    loose, tight = (loaded_tension_n(each, Load(per_metre_n=load)) for each in strung)
    assert tight >= loose - 1e-6
    assert sag_under_m(Load(per_metre_n=load), span_m=span, tension_n=tight) <= sag_under_m(
        Load(per_metre_n=load), span_m=span, tension_n=loose
    ) * (1 + 1e-9)


@law
@given(sizes, tensions, spans, loads, st.floats(-40, 40), st.floats(0, 500), st.integers(1, 10))
def test_equation_of_state_is_solved_to_the_last_digit(size, tension, span, load, warmer, point, sharing):
    strung = Strung(wire=wire(size), span_m=span, tension_n=tension, sharing_spans=sharing)
    acting = Load(per_metre_n=load, point_n=point, warmer_c=warmer)
    found = loaded_tension_n(strung, acting)
    slope = (state_residual_n(strung, acting, found * 1.0001) - state_residual_n(strung, acting, found)) / (
        found * 1e-4
    )
    assert found > 0
    assert abs(state_residual_n(strung, acting, found)) / slope < 1e-6


@law
@given(tensions, st.floats(0.8, 4), loads)
def test_tension_read_back_is_the_tension_strung(tension, span, load):
    strung = Strung(wire=wire(2.0), span_m=span, tension_n=tension)
    acting = Load(per_metre_n=load)
    loaded = loaded_tension_n(strung, acting)
    again = unloaded_tension_n(strung, acting, loaded)
    assert loaded_tension_n(replace(strung, tension_n=again), acting) == pytest.approx(loaded, rel=1e-6)


@law
@given(spans, loads, tensions)
def test_half_the_span_sags_a_quarter(span, load, tension):
    whole = parabola_sag_m(load_n_m=load, span_m=span, tension_n=tension)
    half = parabola_sag_m(load_n_m=load, span_m=span / 2, tension_n=tension)
    assert half == pytest.approx(whole / 4)


@law
@given(st.sampled_from(GRADES), sizes, sizes)
def test_thicker_wire_is_never_weaker(grade, one, other):
    thin, thick = sorted((one, other))
    assert wire(thick, grade=grade).breaking_n >= wire(thin, grade=grade).breaking_n
    assert wire(thick, grade=grade).mass_kg_m >= wire(thin, grade=grade).mass_kg_m


@pytest.mark.parametrize("system", ["swg", "washburn_moen", "bwg", "awg"])
def test_lower_gauge_number_carries_more(system):
    # Common practice: the lower the gauge the more it carries; garden wire runs from 10 to 14 gauge.
    loads = [wire(gauge_mm(number, system)).breaking_n for number in range(10, 15)]
    assert loads == sorted(loads, reverse=True)


@law
@given(st.integers(1000, 60_000), st.integers(1000, 60_000))
def test_bill_grows_with_the_run(one, other):
    short, long = sorted((one, other))
    for stand in (wall(plants=()), row(plants=())):
        small, large = (bill_of_materials(replace(stand, run_mm=run)) for run in (short, long))
        for line in small.lines:
            assert large.amount(line.good) >= line.quantity
        assert large.minutes >= small.minutes
        assert large.mass_kg >= small.mass_kg


@law
@given(st.integers(1000, 60_000), st.integers(400, 4000))
def test_bill_counts_what_the_layout_shows(run, gap):
    for stand in (wall(run_mm=run, hold_gap_mm=gap, plants=()), row(run_mm=run, hold_gap_mm=max(gap, 1000), plants=())):
        bill, layout = bill_of_materials(stand), layout_of(stand)
        eyes = sum(line.quantity for line in bill.lines if line.good in ("vine_eye", "wall_bracket"))
        posts = sum(line.quantity for line in bill.lines if line.good in ("line_post", "end_post"))
        assert eyes == len(layout.eyes)
        assert posts == len(layout.posts)


@law
@given(st.floats(10, 40), st.floats(10, 40))
def test_harder_gust_never_lightens_a_part(one, other):
    soft, hard = sorted((one, other))
    stand = row()
    calm, wild = (
        check_support(replace(stand, surroundings=replace(stand.surroundings, gust_m_s=gust)), with_cures=False)
        for gust in (soft, hard)
    )
    for check in calm.checks:
        assert wild.part(check.rule).ratio >= check.ratio - 1e-9


@law
@given(st.floats(0.3, 1.5), st.floats(0.3, 1.5), st.sampled_from(["sand", "gravel", "clay", "soft_clay"]))
def test_deeper_post_is_held_better(one, other, soil_id):
    soil = materials().soils[soil_id]
    shallow, deep = (
        there(sideways_hold_n(soil, depth_m=depth, width_m=0.1, at_m=1.1)) for depth in sorted((one, other))
    )
    assert deep >= shallow


@law
@given(st.floats(50, 3000), st.floats(50, 3000))
def test_harder_push_wants_a_deeper_post(one, other):
    shallow, deep = (
        code_depth_free_m(push_n=push, at_m=1.1, width_m=0.1, bearing_kpa_m=23.6) for push in sorted((one, other))
    )
    assert deep >= shallow - 1e-9


@law
@given(st.integers(0, 40), st.integers(0, 40))
def test_heavier_crop_sags_more(one, other):
    light, heavy = sorted((one, other))
    sags = []
    for crop in (light, heavy):
        stand = wall()
        plant = replace(stand.plants[0], crop_kg=crop)
        sags.append(load_wires(replace(stand, plants=(plant,)))[0].under("crop").sag_mm)
    assert sags[1] >= sags[0] - 1e-9
