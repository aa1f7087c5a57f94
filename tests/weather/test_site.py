"""A site whose weather is a file: from its folder to the appraisal, the register and `check`."""

import shutil
import subprocess
import sys

import numpy as np
import pytest

from sitefare.appraisal import appraise, sampled_values
from sitefare.assumptions.case import base_values, block_of, make_case
from sitefare.errors import AssumptionError
from sitefare.farm import climate
from sitefare.farm.design import size_farm
from sitefare.farm.flows import farm_flows
from sitefare.farm.parts import parts_of
from sitefare.outputs.checking import check_all
from sitefare.outputs.register import register
from sitefare.sizing import plan_for

COMPUTED = [
    "climate.temperature", "climate.temperature_range", "climate.humidity", "climate.sunshine",
    "climate.wind", "place.design_temperature_low", "place.design_temperature_high",
]  # fmt: skip


@pytest.fixture(scope="module")
def case(hourly_library):
    return make_case(hourly_library, "greensboro", "as_planned")


@pytest.fixture(scope="module")
def plan(case):
    return plan_for(case)


def site_of(library):
    return library.folder / "sites" / "greensboro"


def changed(library, old, new, file="site.csv"):
    path = site_of(library) / file
    path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")


def test_the_file_answers_the_facts_it_can_and_says_so(case, years):
    year = years["greensboro"]
    lines = {line.name: line for line in register(case)}
    for name in COMPUTED:
        row = case.rows[name]
        assert row.layer == "site greensboro, weather file"
        assert lines[name].layer == row.layer
        assert lines[name].locator == "weather/723170TYA.CSV"
        assert (row.source, row.basis, row.as_of) == ("weather_file", "published", "2008")
        assert "Computed from the hourly file" in row.note
        assert not row.uncertain
    assert dict(case.facts)["climate.temperature"]
    assert all(given for fact, given in case.facts if fact in COMPUTED)
    assert np.mean(case.rows["climate.temperature"].months) == pytest.approx(
        year.temperature.mean(), abs=0.2
    )
    low, high = (case.rows[f"place.design_temperature_{end}"].base for end in ("low", "high"))
    assert np.mean(year.temperature > low) == pytest.approx(0.99, abs=0.002)
    assert np.mean(year.temperature > high) == pytest.approx(0.01, abs=0.002)
    assert "mean coincident wet bulb" in case.rows["place.design_temperature_high"].note


def test_a_row_that_the_site_gives_stands(own_library):
    changed(
        own_library,
        "place.design_wind",
        "place.design_temperature_low,degC,,-15,,,invented,,2026-06,invented,\nplace.design_wind",
    )
    row = make_case(own_library, "greensboro", "as_planned").rows["place.design_temperature_low"]
    assert (row.base, row.layer) == (-15, "site greensboro")


def test_a_whole_farm_runs_on_the_file(case, plan):
    values = base_values(case)
    design = size_farm(values, 300.0)
    assert {"air_heat", "cooling_heat", "fan_air", "pad_water"} < set(design.scale)
    flows = farm_flows(values, design, case.timeline)
    assert np.all(np.isfinite(flows.electricity_total_kwh))
    heat = flows.season["air_heating_kwh"][0]
    np.testing.assert_allclose(heat, design.scale["air_heat"].full, rtol=1e-9)
    assert heat[0] > heat[3] > heat[6]
    found = appraise(plan).indicators
    assert found["vegetables_marketable_kg_year"][0, 0] > 0
    assert np.isfinite(found["capex"]).all()


@pytest.mark.parametrize("draws", [1, 7, 12, 24, 181])
def test_scalar_equals_vector_with_a_file(plan, draws):
    values = sampled_values(plan, 256, 3)
    vector = appraise(plan, block_of(values, slice(0, draws))).indicators
    for i in {0, draws // 2, draws - 1}:
        one = appraise(plan, block_of(values, slice(i, i + 1))).indicators
        for name, x in one.items():
            np.testing.assert_allclose(
                np.broadcast_to(vector[name], (draws, 1))[i], x[0], rtol=1e-12, atol=1e-12
            )


def test_colder_years_take_more_heat_with_a_file(case, plan):
    values = base_values(case)
    heat = [
        farm_flows(
            values | {"climate.temperature_shift": np.full((1, 1), shift)},
            plan.design,
            case.timeline,
        )
        .season["air_heating_kwh"]
        .sum()
        for shift in (-3.0, 0.0, 3.0)
    ]
    assert heat[0] > heat[1] > heat[2] > 0


def test_the_files_bytes_join_the_fingerprint(own_library):
    path = site_of(own_library) / "weather" / "723170TYA.CSV"
    before = make_case(own_library, "greensboro", "as_planned")
    path.write_text(path.read_text().replace(",10.0,A,7,6.1,", ",10.5,A,7,6.1,", 1))
    after = make_case(own_library, "greensboro", "as_planned")
    assert before.input_hash != after.input_hash
    assert before.weather.temperature[0] != after.weather.temperature[0]


def test_a_file_may_stand_beside_the_tables(own_library):
    folder = site_of(own_library)
    shutil.move(folder / "weather" / "723170TYA.CSV", folder / "station.csv")
    changed(own_library, "weather/723170TYA.CSV", "station.csv")
    assert make_case(own_library, "greensboro", "as_planned").weather.station.startswith("GREEN")


@pytest.mark.parametrize("word", ["../norhaven/climate.csv", "/etc/hosts", "weather/../../x.epw"])
def test_a_path_may_not_leave_the_sites_folder(own_library, word):
    changed(own_library, "weather/723170TYA.CSV", word)
    with pytest.raises(AssumptionError, match=r"leaves the site's folder; a path inside it"):
        make_case(own_library, "greensboro", "as_planned")


def test_a_link_may_not_leave_the_sites_folder_either(own_library, pvlib_data):
    (site_of(own_library) / "weather" / "723170TYA.CSV").unlink()
    (site_of(own_library) / "weather" / "723170TYA.CSV").symlink_to(pvlib_data / "723170TYA.CSV")
    with pytest.raises(AssumptionError, match="leaves the site's folder"):
        make_case(own_library, "greensboro", "as_planned")


def test_rain_stays_a_fact_of_the_site(own_library):
    (site_of(own_library) / "climate.csv").unlink()
    with pytest.raises(AssumptionError, match=r"^climate\.rain is missing: a required site fact"):
        make_case(own_library, "greensboro", "as_planned")


def test_without_the_file_its_facts_are_missing(own_library):
    with pytest.raises(AssumptionError, match=r"place\.design_temperature_low is missing"):
        make_case(own_library, "greensboro", "as_planned", ["climate.weather_file=none"])


def test_a_station_of_another_climate_is_refused(own_library):
    changed(own_library, "degree,,36.1,", "degree,,-36.1,")
    with pytest.raises(AssumptionError, match=r"latitude 36\.1 and the site at -36\.1"):
        make_case(own_library, "greensboro", "as_planned")


def test_a_station_far_above_or_below_is_refused(own_library):
    changed(own_library, "place.elevation,m,,273,", "place.elevation,m,,1273,")
    with pytest.raises(AssumptionError, match="stands at 273 m and the site at 1273 m"):
        make_case(own_library, "greensboro", "as_planned")


def test_check_reports_the_station_its_hours_and_gaps(hourly_library):
    said = [finding.text for finding in check_all(hourly_library)]
    line = next(s for s in said if "weather file sites/greensboro" in s)
    assert "TMY3 of GREENSBORO PIEDMONT TRIAD INT" in line
    assert "8,760 hours, 0 filled" in line


def test_a_broken_file_ends_the_command_in_one_sentence(own_library):
    path = site_of(own_library) / "weather" / "723170TYA.CSV"
    path.write_text("\n".join(path.read_text().split("\n")[:5000]))
    folder = ["--assumptions", str(own_library.folder)]
    for command in (["check"], ["appraise", "greensboro"]):
        done = subprocess.run(
            [sys.executable, "-c", "from sitefare.cli import main; main()", *command, *folder],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 1
        said = done.stderr.strip().replace("\n", " ")
        assert "weather/723170TYA.CSV: not a usable weather file: it holds 4,998 hours" in said
        assert "Traceback" not in done.stderr


def test_the_form_of_a_new_site_speaks_of_the_file(own_library):
    from sitefare.outputs.newsite import new_site  # noqa: PLC0415

    form = next(p for p in new_site(own_library, "fresh") if p.name == "FORM.md")
    assert "climate.weather_file,text,,FILE NAME" in form.read_text(encoding="utf-8")


@pytest.mark.parametrize("latitude", [70, -70, 89.9])
def test_a_site_of_polar_nights_runs_on_normals(hourly_library, latitude):
    # Kaldre's normals moved to the pole's side: midwinter without sun, midsummer without night.
    dark = ["farm_design.lamps=yes", f"place.latitude={latitude}"]
    plan = plan_for(make_case(hourly_library, "kaldre", "as_planned", dark))
    found = appraise(plan)
    assert all(np.all(np.isfinite(x)) for x in found.flows.season.values())
    assert found.indicators["vegetables_marketable_kg_year"][0, 0] > 0
    hours = climate.typical_hours(
        parts_of(base_values(plan.case)).climate, parts_of(base_values(plan.case)).place
    )
    night, day = (11, 5) if latitude > 0 else (5, 11)
    assert hours.daylight[0, night] == pytest.approx(0.0)
    assert hours.daylight[0, day] == pytest.approx(24.0)
    assert np.all(hours.cos_zenith[0, night] < 0.0)
    assert np.all(hours.cos_zenith[0, day] > 0.0)
    assert np.all(np.isfinite(hours.diffuse))
