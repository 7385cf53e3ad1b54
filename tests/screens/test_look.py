"""Colours and sizes of the themes, against published limits."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from kivy.metrics import Metrics

from walkapp.presenters.settings import THEME
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


def every(pairs):
    """Give what `pairs` lists of each theme."""
    return [
        (f"{name}: {what}", *pair) for name, theme in look.THEMES.items() for what, *pair in pairs(theme)
    ]


@pytest.mark.parametrize(("what", "ink", "paper"), every(look.pairs))
def test_every_text_stands_out_seven_to_one_in_every_theme(what, ink, paper):
    assert contrast(ink, paper) >= 7, what  # 1.4.6 of WCAG 2.2; never rounded up


@pytest.mark.parametrize(("what", "line", "paper"), every(look.frames))
def test_every_frame_stands_out_three_to_one_in_every_theme(what, line, paper):
    assert contrast(line, paper) >= 3, what  # 1.4.11 of WCAG 2.2


@pytest.mark.parametrize("theme", look.THEMES)
def test_letters_that_are_selected_still_stand_out_seven_to_one(theme):
    tone = look.THEMES[theme].panel
    # Kivy lays the selection over the letters: they stay as they are, since it has their colour.
    under = tuple(p + (i - p) * look.SELECTED for i, p in zip(tone.ink[:3], tone.paper[:3], strict=True))

    assert contrast(tone.ink, under) >= 7
    assert under != tone.paper[:3]


@pytest.mark.parametrize("theme", look.THEMES)
def test_what_a_finger_is_on_differs_from_what_it_is_not_on(theme):
    drawn = look.THEMES[theme]

    for tone in ("plain", "strong", "quiet", *look.VERDICTS):
        up, down = (look.face(drawn, tone, state, False).paper for state in ("normal", "down"))
        assert contrast(up, down) > 1.1, tone  # a guess, no source; what is pressed also loses its foot


def test_glare_is_the_strongest_contrast_there_is():
    glare = look.GLARE

    assert (
        contrast(glare.ground.ink, glare.ground.paper) == 21.0
    )  # more than black on white is not possible
    assert min(contrast(ink, paper) for _, ink, paper in look.pairs(glare)) >= 15
    assert glare.frame_dp > look.LIGHT.frame_dp
    assert glare.chosen_dp > look.LIGHT.chosen_dp


# Red, green and blue as seen without one kind of cone: Machado, Oliveira and Fernandes 2009, severity 1.0,
# on linear light; the numbers from memory, checked only in that grey stays grey (each line adds up to 1).
SEEN_BY = {
    "no red cones": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "no green cones": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "no blue cones": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def seen_luminance(colour, matrix) -> float:
    """Relative luminance of a colour as somebody sees it who has no cones of one kind."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour[:3]]
    seen = [sum(share * part for share, part in zip(line, linear, strict=True)) for line in matrix]
    red, green, blue = (min(max(part, 0.0), 1.0) for part in seen)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("seen_by", SEEN_BY)
def test_nobody_needs_hues_to_read_a_text_or_a_shape(seen_by):
    matrix = SEEN_BY[seen_by]
    assert all(abs(sum(line) - 1) < 1e-5 for line in matrix)

    found = {}
    for what, ink, paper in every(look.pairs):
        high, low = sorted((seen_luminance(ink, matrix), seen_luminance(paper, matrix)), reverse=True)
        found[what] = (high + 0.05) / (low + 0.05)

    assert {what: ratio for what, ratio in found.items() if ratio < 7} == {}


def test_no_state_is_told_by_hue_alone_since_one_theme_has_none():
    inks = {getattr(look.GLARE, verdict).ink for verdict in look.VERDICTS}
    papers = {getattr(look.GLARE, verdict).paper for verdict in look.VERDICTS}

    assert len(inks) == len(papers) == 1


@pytest.mark.parametrize("theme", look.THEMES)
def test_a_theme_is_used_from_the_moment_it_is_chosen(theme):
    before = look.THEME
    try:
        look.use(theme)
        assert look.THEME is look.THEMES[theme]
        assert look.tone("bad") is look.THEMES[theme].bad
    finally:
        look.THEME = before


def test_the_setting_offers_the_themes_that_there_are():
    assert [word for word, _ in THEME.options] == list(look.THEMES)


def test_no_colour_stands_anywhere_but_in_the_themes():
    """A texture is drawn white times the texture; what lies over a photo or a live view is no theme's."""
    allowed = {
        ("cover.py", "Color(1, 1, 1, 1)"),
        ("gallery.kv", "rgba: 1, 1, 1, 1"),
        ("glass.py", "Color(1, 1, 1, 1)"),
        ("mark.py", "Color(1, 1, 1, 1))"),
        ("marks.py", "ColorProperty((0, 0, 0, 1))"),
        ("picture_pad.py", "Color(1, 1, 1, 1)"),
        ("scan.kv", "rgba: 0, 0, 0, 1"),
        ("scan.kv", "rgba: 1, 1, 1, 1"),
        ("scan.kv", "rgba: 1, 1, 1, 1 if self.texture else 0"),
    }
    literal = re.compile(
        r"#[0-9a-fA-F]{6}\b|\b(?:Color|ColorProperty)\(\(?[0-9.][^)]*\)+|(?:rgba?|\w*color|ink|paper):\s*\(?[0-9.]+,[^#]*"
    )
    found = {
        (path.name, match.group())
        for path in sorted(Path(look.__file__).parent.rglob("*"))
        if path.suffix in (".py", ".kv") and path.name != "look.py"
        for line in path.read_text(encoding="utf-8").splitlines()
        if (match := literal.search(line))
    }

    assert found <= allowed


def test_space_on_the_pages_comes_in_the_named_steps():
    own_sizes = {"review.kv": 2, "trial_result.kv": 2}  # columns that stand under marks of a set width
    loose = {}
    for path in sorted(Path(look.__file__).parent.rglob("*.kv")):
        lines = path.read_text(encoding="utf-8").splitlines()
        found = [line for line in lines if re.match(r"\s*(spacing|padding):.*dp\(", line)]
        if len(found) > own_sizes.get(path.name, 0):
            loose[path.name] = found

    assert loose == {}
    assert list(look.SPACE_DP.values()) == sorted(set(look.SPACE_DP.values()))


@pytest.mark.parametrize(("pixels_per_inch", "density"), TABLETS)
def test_targets_gaps_and_answers_have_their_millimetres_on_every_tablet(pixels_per_inch, density):
    before = Metrics.density
    Metrics.density = density
    try:
        sizes_mm = [size() / pixels_per_inch * 25.4 for size in (look.target, look.gap, look.answer)]
    finally:
        Metrics.density = before

    assert [size >= least for size, least in zip(sizes_mm, (12, 4, 18), strict=True)] == [True] * 3
