"""Colours of the pages against the contrast formula of WCAG 2.2.

Source: W3C, Web Content Accessibility Guidelines 2.2 (2023), definitions of "relative luminance" and "contrast
ratio"; thresholds from criteria 1.4.3 (4.5), 1.4.6 (7) and 1.4.11 (3).
"""

from __future__ import annotations

import pytest

from tests.shapes import colours


def luminance(hexadecimal: str) -> float:
    def linear(channel: float) -> float:
        return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(int(hexadecimal[at : at + 2], 16) / 255) for at in (0, 2, 4))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    # White against black from the definition; the grey as W3C's technique G18 quotes it, blue from memory.
    [("000000", "ffffff", 21.0), ("767676", "ffffff", 4.54), ("0000ff", "ffffff", 8.59)],
)
def test_our_formula_gives_the_known_ratios(one, other, ratio):
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize(
    ("ink", "ground"),
    [
        *((ink, ground) for ink in ("soot", "stone", "leaf", "river", "brick") for ground in ("white", "linen")),
        *((f"{name}", f"{name}-tint") for name in ("leaf", "river", "brick", "damson")),
        ("straw-ink", "straw-tint"),
        ("soot", "straw"),
        *(("soot", f"{name}-tint") for name in ("leaf", "river", "brick", "damson", "straw")),
        *(("white", ground) for ground in ("leaf", "river", "soot")),
    ],
)
def test_text_reaches_seven_to_one_everywhere(ink, ground):
    token = colours()
    assert contrast(token[ink], token[ground]) >= 7


@pytest.mark.parametrize("ground", ["white", "linen"])
def test_borders_reach_three_to_one(ground):
    token = colours()
    assert contrast(token["gravel"], token[ground]) >= 3
