"""Colours and sizes of the theme, against published limits."""

from __future__ import annotations

import pytest
from kivy.metrics import Metrics

from walkapp.screens import look

# (pixels an inch of the glass, density) of the tablets planned for; the first two numbers follow from
# size and resolution, the densities from what the systems usually set.
TABLETS = [(189, 1.33), (149, 1.0), (224, 1.5), (283, 2.0), (170, 1.0)]


def luminance(colour) -> float:
    """W3C WCAG 2.2, definition of relative luminance."""
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour[:3])
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other) -> float:
    """W3C WCAG 2.2, definition of contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize(
    ("ink", "paper", "published"),
    [
        ("#000000", "#ffffff", 21.0),  # WCAG 2.2
        ("#333333", "#ffffff", 12.6),  # W3C ACT rule afw4f7
        ("#666666", "#000000", 3.6),  # the same
        ("#aaaaaa", "#ffffff", 2.3),  # the same
        ("#e5e5e5", "#6221ea", 5.6),  # Understanding 1.4.11
        ("#3366cc", "#000000", 3.9),  # Technique G183
    ],
)
def test_the_formula_gives_the_published_ratios(ink, paper, published):
    # Published ratios are cut after one decimal, not rounded.
    assert int(contrast(look.rgb(ink), look.rgb(paper)) * 10) / 10 == published


@pytest.mark.parametrize(("what", "ink", "paper"), look.pairs(look.THEME))
def test_every_text_stands_out_seven_to_one(what, ink, paper):
    assert contrast(ink, paper) >= 7, what  # 1.4.6 of WCAG 2.2; never rounded up


@pytest.mark.parametrize("paper", ["ground", "panel"])
def test_every_frame_stands_out_three_to_one(paper):
    assert contrast(look.THEME.edge, look.tone(paper).paper) >= 3  # 1.4.11 of WCAG 2.2


@pytest.mark.parametrize(("pixels_per_inch", "density"), TABLETS)
def test_targets_gaps_and_answers_have_their_millimetres_on_every_tablet(pixels_per_inch, density):
    before = Metrics.density
    Metrics.density = density
    try:
        sizes_mm = [size() / pixels_per_inch * 25.4 for size in (look.target, look.gap, look.answer)]
    finally:
        Metrics.density = before

    assert [size >= least for size, least in zip(sizes_mm, (12, 4, 18), strict=True)] == [True] * 3


def test_verdicts_differ_in_shape_and_not_in_colour_alone():
    from walkapp.screens.kit.marks import SHAPES

    shapes = [SHAPES[verdict] for verdict in look.VERDICTS]

    assert len(set(shapes)) == len(look.VERDICTS)
