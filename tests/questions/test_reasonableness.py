"""Every band is judged by a figure of the appraisal, and outside is told, never refused."""

import numpy as np

from sitefare.appraisal import appraise
from sitefare.questions.reasonableness import FIGURES, bands


def test_every_band_has_its_figure_and_every_figure_its_band(plan):
    found = bands(appraise(plan("norhaven")))
    assert {band.key for band in found} == set(FIGURES)


def test_lamps_decide_which_lettuce_band_applies(plan):
    lit = {b.key: b for b in bands(appraise(plan("norhaven")))}
    unlit = {b.key: b for b in bands(appraise(plan("qasr_adhra")))}
    assert lit["lit_energy"].applies
    assert not lit["unlit_lettuce"].applies
    assert unlit["unlit_lettuce"].applies
    assert not unlit["lit_energy"].applies


def test_outside_is_told(plan):
    base = {b.key: b for b in bands(appraise(plan("port_anui")))}
    dear = plan("port_anui", "as_planned", "bill.fish_tank.price=9000 USD")
    found = {b.key: b for b in bands(appraise(dear))}
    assert found["capital"].figure > base["capital"].figure
    assert found["capital"].outside
    assert found["capital"].verdict == "outside"
    assert np.isnan(found["payback"].figure)
    assert found["payback"].verdict == "–"
