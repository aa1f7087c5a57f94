"""The design sheet says what the design and the flows say, on screen, on paper and as numbers."""

import io
import json
import re
import xml.etree.ElementTree as ET
from collections import Counter

import numpy as np
import pypdf
import pytest
from rich.console import Console

from sitefare.arrays import value
from sitefare.errors import DesignError
from sitefare.farm import beds
from sitefare.farm.floors import floor_words
from sitefare.farm.parts import parts_of
from sitefare.farm.sheet import BY_UNIT, GROUPS, ORDER, group_of
from sitefare.farm.targets import targets
from sitefare.outputs.cells import cells
from sitefare.outputs.design_document import document as design_document
from sitefare.outputs.design_document import make_design
from sitefare.outputs.design_sheet import as_data, make_sheet
from sitefare.outputs.document import Figure
from sitefare.outputs.numbers import Formats
from sitefare.outputs.page import page
from sitefare.outputs.planview import plan_drawing
from sitefare.outputs.terminal import print_design

from .reading import assert_reads_back

SITES = ["kaldre", "norhaven", "port_anui", "qasr_adhra"]


@pytest.fixture(scope="module")
def made(plan):
    """The design sheets of the demo sites."""
    return {site: make_sheet(plan(site)) for site in SITES}


def test_every_group_is_printed_in_order(made):
    assert set(GROUPS.values()) | set(BY_UNIT.values()) <= set(ORDER)
    for sheet in made.values():
        found = list(dict.fromkeys(line.group for line in sheet.lines))
        assert found == [g for g in ORDER if g in found]
        for group in ("Areas", "Volumes", "Head and pipes", "Power", "Heat and cold", "Fish",
                      "Feed", "Loads on the floor", "Life support"):  # fmt: skip
            assert group in found


def test_a_line_that_others_add_finds_a_group():
    assert group_of("Lift of the air-lift", "m") == "Head and pipes"
    assert group_of("TAN in the tanks", "mg/L") == "Water quality"
    assert group_of("Something new", "acre") == "Other"


def test_heat_load_is_installed_less_margin(made):
    sheet = made["kaldre"]
    margin = float(sheet.parts.design.power_margin[0, 0])
    load, per = (sheet.number(f"Heat load of the air{x}") for x in ("", " over covered ground"))
    assert load * margin == pytest.approx(sheet.design.drivers["air_heater_power"])
    assert per * sheet.design.covered_area / 1000 == pytest.approx(load)
    assert made["port_anui"].number("Heat load of the air") is None


@pytest.mark.parametrize("site", SITES)
def test_stocking_calendar_is_that_of_the_flows(made, site):
    sheet = made[site]
    timeline = sheet.case.timeline
    start = timeline.start_year * 12 + timeline.start_month
    months = Counter(c.stocked.year * 12 + c.stocked.month - start for c in sheet.stocking)
    last = timeline.construction + 24
    flows = sheet.flows.fingerlings[0, : last + 1] / sheet.design.stocked_fish
    planned = np.array([months.get(m, 0) for m in range(last + 1)])
    # A day's rounding may carry one stocking over a month's end.
    assert np.abs(np.cumsum(planned) - np.cumsum(flows)).max() < 1.01
    assert planned.sum() == pytest.approx(flows.sum(), abs=1.01)
    assert {c.tank for c in sheet.stocking} == set(range(1, sheet.design.tank_count + 1))
    for cohort in sheet.stocking:
        assert cohort.harvested is None or cohort.harvested > cohort.stocked


@pytest.mark.parametrize("site", SITES)
def test_planting_calendar_is_that_of_the_flows(made, site):
    sheet = made[site]
    for line in sheet.planting:
        assert sum(line.plants) == pytest.approx(sheet.flows.plants[line.key][0, -12:].sum())
        assert line.harvest > line.first
        assert all(line.plants[m] == 0 for m in line.idle)


def test_a_crop_of_some_months_shows_its_bed(plan):
    summer = make_sheet(plan("kaldre", "as_planned", "plan.lettuce.first_month=4",
                             "plan.lettuce.last_month=9"))  # fmt: skip
    beds = {line.title: line.area for line in summer.planting}
    assert beds["Lettuce"] == pytest.approx(0.2 * summer.design.bed_area)


def test_a_crop_that_cannot_grow_says_in_which_months(plan):
    cold = make_sheet(plan("kaldre", "as_planned", "farm_design.heated_air=no",
                           "farm_design.enclosure=shade_net"))  # fmt: skip
    idle = {line.title: line.idle for line in cold.planting}
    assert idle["Tomato"]
    assert 0 in idle["Tomato"]


def test_drawing_is_sound_and_names_itself(made):
    for sheet in made.values():
        picture = plan_drawing(sheet.plan, sheet.needs, Formats())
        assert "Not a construction drawing" in picture.wide_svg
        assert len(picture.alt) > 100
        for svg in (picture.wide_svg, picture.narrow_svg):
            root = ET.fromstring(svg)
            wide, high = (float(root.get(side)) for side in ("width", "height"))
            for text in root.iter("{http://www.w3.org/2000/svg}text"):
                assert 0 <= float(text.get("x")) <= wide
                assert 0 <= float(text.get("y")) <= high
            names = {t.text for t in root.iter("{http://www.w3.org/2000/svg}text")}
            assert f"T{sheet.design.tank_count}" in names


def test_files_hold_the_same(plan, tmp_path):
    design = make_design(plan("port_anui"))
    files = {path.name: path for path in design.write(tmp_path)}
    assert set(files) == {"design.docx", "design.html", "design.pdf", "design.svg", "design.json"}
    html = files["design.html"].read_text(encoding="utf-8")
    assert not re.search(r'(src|href)="https?:', html)
    paper = pypdf.PdfReader(io.BytesIO(files["design.pdf"].read_bytes()))
    text = " ".join(" ".join(p.extract_text().split()) for p in paper.pages)
    found = json.loads(files["design.json"].read_text(encoding="utf-8"))
    assert list(found["groups"]) == [g for g in ORDER if g in found["groups"]]
    area = next(x for x in found["groups"]["Areas"] if x["what"] == "Bed area")
    assert area == {"what": "Bed area", "value": 500.0, "unit": "m2"}
    beds_drawn = [r for r in found["plan"]["rectangles"] if r["kind"] == "bed"]
    assert sum(b["width"] * b["height"] for b in beds_drawn) == pytest.approx(500, rel=0.005)
    for group in found["groups"]:
        assert group in html
        assert group in text
    assert found["stocking"][0]["stocked"] in html
    assert "Alkalinity" in text
    assert "12 kN/m²" in text
    assert files["design.svg"].read_text(encoding="utf-8").startswith("<svg ")
    assert as_data(design.sheet) == as_data(make_sheet(plan("port_anui")))


def test_notebook_shows_the_drawing_as_a_picture(plan):
    design = make_design(plan("norhaven"))
    figure = next(b for b in design.document.blocks if isinstance(b, Figure))
    cell = next(c for c in cells(design.document) if c.placed.block is figure)
    bundle, about = cell._repr_mimebundle_()
    assert bundle["image/png"].startswith(b"\x89PNG")
    assert about["image/png"]["alt"] == figure.alt_text
    assert 'role="img"' in page(design.document)


def test_alarms_must_lie_outside_their_target(made):
    sheet = made["kaldre"]
    wrong = dict(sheet.values) | {"target.acidity.alarm_low": value(6.8)}
    with pytest.raises(DesignError, match=r"target\.acidity: alarms of 6\.8 and 7\.5 must lie"):
        targets(wrong, sheet.parts, sheet.flows.season, sheet.design.water_volume)


@pytest.mark.parametrize("site", SITES)
def test_alkalinity_ph_and_carbon_dioxide_agree(made, site):
    sheet = made[site]
    line = next(t for t in sheet.targets if t.key == "alkalinity")
    held = sheet.number("Alkalinity that holds the pH")
    assert line.alarm_low < line.low < held < line.high < line.alarm_high
    gas = f"{sheet.number('Carbon dioxide in the tanks, most'):.1f} mg/L"
    assert gas in line.title


def test_targets_hold_fao_ranges_and_the_fish(made):
    found = {t.key: t for t in made["port_anui"].targets}
    assert (found["oxygen"].low, found["oxygen"].high) == (5, None)
    assert (found["nitrate"].low, found["nitrate"].high) == (5, 150)
    assert found["ammonia"].high == found["nitrite"].high == 1
    assert found["temperature"].alarm_high == 36
    assert made["port_anui"].source(found["oxygen"]).startswith("fao589")


# Flooded gravel weighs about 2.0 t/m3: 0.30 m is 6 kN/m2; 1.2 m of water is 12 kN/m2. Arithmetic.
@pytest.mark.identity
def test_floor_loads_of_gravel_and_water(made):
    parts = made["port_anui"].parts
    gravel = float(beds.floor_load(parts.bed)[0, 0])
    assert gravel == pytest.approx(6.0, abs=0.1)
    assert made["port_anui"].number("Load of a tank on its floor") == pytest.approx(12, abs=0.3)
    said = floor_words(parts_of(made["port_anui"].values))
    assert "6.0 kN/m2" in said
    assert "more than that" in said


@pytest.mark.parametrize("heated", ["yes", "no"])
@pytest.mark.parametrize("species", ["tilapia", "carp", "trout", "catfish"])
def test_alarms_of_temperature_stand_outside_the_fishs_band(made, species, heated):
    values = dict(made["port_anui"].values)
    parts = parts_of(values | {"farm_design.species": species, "farm_design.heated_water": heated})
    season, volume = made["port_anui"].flows.season, 100.0
    line = targets(values, parts, season, volume)[0]
    fish = parts.species
    assert line.alarm_low + 2 <= line.low < line.high <= line.alarm_high - 2
    assert line.low <= fish.water_target[0, 0] <= line.high
    assert line.alarm_low >= fish.lethal_low[0, 0]
    assert line.alarm_high <= fish.lethal_high[0, 0]


def test_nothing_stands_under_other_and_heat_is_told_from_electricity(made):
    for sheet in made.values():
        groups = {line.group for line in sheet.lines}
        assert "Other" not in groups
        assert all(line.unit != "kW" for line in sheet.lines if line.group == "Heat and cold")
        power = {line.what for line in sheet.lines if line.group == "Power"}
        assert not power & {"Heaters", "Cooling"}
        life = {line.what for line in sheet.lines if line.group == "Life support"}
        assert {"Oxygen used in the peak hour", "Oxygen held for emergencies"} <= life
        assert not any(line.what.startswith("Flow to degas") and line.number == 0
                       for line in sheet.lines)  # fmt: skip


def test_pads_carry_off_the_sun_only_where_there_are_pads(made):
    for site, pads in (("kaldre", False), ("qasr_adhra", True)):
        line = next(x for x in made[site].lines if x.what == "Sun that stays at a clear noon")
        assert ("pads" in line.note) is pads


def test_ammonia_of_target_alarm_and_fish_stand_in_order(made):
    for sheet in made.values():
        line = next(t for t in sheet.targets if t.key == "unionised_ammonia")
        borne = sheet.number("Un-ionised ammonia nitrogen the fish bear")
        assert line.high < line.alarm_high <= borne
        assert f"the fish bear {borne:g}" in line.title


def test_reserve_air_and_the_water_add_up(made):
    sheet = made["kaldre"]
    hours = (sheet.number("Back-up air lasts") + sheet.design.life_support_minutes) / 60
    said = next(x for x in sheet.design.limits if "reserve air" in x)
    assert f"reserve air with the water's own lasts {hours:.1f} h" in said


def test_cells_on_a_narrow_screen_are_whole(made):
    screen = io.StringIO()
    print_design(Console(file=screen, width=80, color_system=None), made["kaldre"])
    text = screen.getvalue()
    assert "planting" in text.split("Planting calendar")[1].split("Lettuce")[0].split()
    words = set(text.split())
    for line in made["kaldre"].lines:
        assert set(line.note.split()) <= words
    for target in made["kaldre"].targets:
        assert set(f"{target.title} {target.check}".split()) <= words


def test_feed_by_ratio_says_it_is_no_balance(made, plan):
    words = "rules of practice, no balance of nitrogen"
    assert any(words in limit for limit in made["kaldre"].design.limits)
    balanced = plan("kaldre", "as_planned", "farm_design.feed_basis=plant_nitrogen").design
    assert not any(words in limit for limit in balanced.limits)


@pytest.mark.parametrize(("width", "colours"), [(1280, "light"), (390, "dark")])
def test_its_page_reads_back_and_passes_an_audit(made, visit, audit, width, colours):
    document = design_document(made["kaldre"], Formats("en", made["kaldre"].case.currency))
    reader = visit(page(document), width, color_scheme=colours)
    assert_reads_back(document, reader)
    assert reader.evaluate("document.documentElement.scrollWidth") <= width
    assert audit(reader) == []
