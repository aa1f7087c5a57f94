"""The palette is told apart by everybody, on white paper."""

import itertools

import altair as alt
import numpy as np
import pytest

from sitefare.outputs import dark, theme

# Machado, Oliveira and Fernandes 2009, table of severity 1.0, on linear sRGB.
VISION = {
    "full": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
# IEC 61966-2-1, linear sRGB to CIE XYZ at D65.
XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
WHITE = np.array([0.95047, 1.0, 1.08883])


def linear(colour):
    part = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)


def contrast(colour, ground):
    one, other = sorted(float((XYZ @ linear(c))[1]) for c in (colour, ground))
    return (other + 0.05) / (one + 0.05)


def lab(light):
    ratio = XYZ @ np.clip(light, 0, 1) / WHITE
    f = np.where(ratio > 0.008856, np.cbrt(ratio), 7.787 * ratio + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("name", theme.PALETTE)
def test_series_colours_stand_out_from_paper(name):
    assert contrast(theme.PALETTE[name], theme.PAPER) >= 3.0  # WCAG 2.2, 1.4.11


@pytest.mark.parametrize("colour", [theme.INK, theme.MUTED])
def test_text_reads_on_paper(colour):
    assert contrast(colour, theme.PAPER) >= 4.5  # WCAG 2.2, 1.4.3


# A difference of about 2.3 is just seen (CIE 1976); 20 is told apart at a glance.
@pytest.mark.parametrize("vision", VISION)
def test_every_pair_of_colours_is_told_apart(vision):
    seen = {name: lab(VISION[vision] @ linear(c)) for name, c in theme.PALETTE.items()}
    for one, other in itertools.combinations(seen, 2):
        assert np.linalg.norm(seen[one] - seen[other]) >= 20, (one, other)


def test_theme_leaves_altair_as_it_was():
    before = alt.theme.active
    with theme.in_force("de"):
        spec = alt.Chart(alt.Data(values=[])).mark_bar().to_dict()
    assert spec["config"]["background"] == "#ffffff"
    assert spec["config"]["locale"]["number"]["decimal"] == ","
    assert alt.theme.active == before


# The same on dark paper.
@pytest.mark.parametrize("name", theme.PALETTE)
def test_series_colours_stand_out_from_dark_paper(name):
    assert contrast(dark.SERIES[name], dark.PAGE["paper"]) >= 3.0  # WCAG 2.2, 1.4.11


@pytest.mark.parametrize("name", ["ink", "muted", "link", "deep", "brick", "ochre"])
def test_text_reads_on_dark_paper(name):
    assert contrast(dark.PAGE[name], dark.PAGE["paper"]) >= 4.5  # WCAG 2.2, 1.4.3


@pytest.mark.parametrize("vision", VISION)
def test_every_pair_of_dark_colours_is_told_apart(vision):
    seen = {name: lab(VISION[vision] @ linear(c)) for name, c in dark.SERIES.items()}
    for one, other in itertools.combinations(seen, 2):
        assert np.linalg.norm(seen[one] - seen[other]) >= 20, (one, other)


def test_every_colour_of_the_theme_has_its_partner():
    assert set(dark.SERIES) == set(theme.PALETTE)
    assert len(dark.partners()) == len(theme.PALETTE) + 6
