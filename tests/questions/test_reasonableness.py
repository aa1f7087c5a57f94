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


def test_what_lies_far_outside_is_never_called_usual(plan):
    for site in ("kaldre", "norhaven", "port_anui", "qasr_adhra"):
        found = {b.key: b for b in bands(appraise(plan(site)))}
        for key in ("local_price", "workers", "plant_nitrogen"):
            assert found[key].verdict == "outside", (site, key, found[key].figure)
        assert all("odd" not in band.verdict for band in found.values())
    lit = next(b for b in bands(appraise(plan("norhaven"))) if b.key == "lit_energy")
    assert lit.figure > 25
    assert lit.verdict == "outside"


def test_a_band_with_one_end_says_which_end_is_kept(plan):
    found = {b.key: b for b in bands(appraise(plan("qasr_adhra")))}
    assert found["water_crop"].verdict == "not below its floor"
    assert found["unlit_lettuce"].verdict == "not above its top"
