"""How near are three typical days a month to 8,760 hours, and how much faster?

Run apart from the test command: `pip install -e '.[bench]'`, then `pytest tests/benchmarks -s`.
Each line gives heating and cooling of the full year, and for each shorter form both errors as
shares of heating plus cooling: typical days as they are, as every draw uses them (scaled to the
full year at base), and the same file's monthly normals with the spread rows.
"""

from dataclasses import replace
from time import perf_counter

import pytest

from sitefare.farm.flows import sizes_of
from sitefare.farm.season import season_of

HOUSES = ["heated greenhouse", "heated film house", "closed room"]
STATIONS = ["greensboro", "sand_point"]
MOVES = [
    "base", "cover loses 30 % less", "cover loses 30 % more", "set points 30 % lower",
    "set points 30 % higher",
]  # fmt: skip


def shown(pair):
    return " ".join(f"{100 * e:+6.1f} %" for e in pair)


@pytest.mark.parametrize("house", HOUSES)
@pytest.mark.parametrize("station", STATIONS)
def test_demand_of_the_full_year_and_of_shorter_forms(demands, errors, station, house, capsys):
    made = demands(station, house)
    with capsys.disabled():
        print(f"\n{station}, {house}")
        print(
            f"  {'':24s}{'heat kWh':>11s} {'cold kWh':>11s}   typical days        scaled"
            "              normals"
        )
        for move in MOVES:
            full = made.full(move)
            forms = [errors(full, form(move)) for form in (made.typical, made.scaled, made.normals)]
            numbers = "   ".join(shown(pair) for pair in forms)
            print(f"  {move:24s}{full[0]:11,.0f} {full[1]:11,.0f}   {numbers}")
    full, scaled = made.full("base"), made.scaled("base")
    assert scaled == pytest.approx(full, rel=1e-9)


def seconds(run, times):
    run()
    start = perf_counter()
    for _ in range(times):
        run()
    return (perf_counter() - start) / times


def test_time_of_a_typical_season(demands, benchmark, capsys):
    made = demands("greensboro", "heated greenhouse")
    sizes = sizes_of(made.design)
    every = replace(made.parts, weather=made.parts.weather_year)
    benchmark(season_of, made.parts, sizes)
    full, typical = (seconds(lambda p=p: season_of(p, sizes), 20) for p in (every, made.parts))
    with capsys.disabled():
        print(
            f"\nfull year {1e3 * full:.2f} ms, typical days {1e3 * typical:.2f} ms, "
            f"ratio {full / typical:.1f} for one draw"
        )
    assert full > typical


def test_time_of_a_block_of_draws(demands, capsys):
    # Where memory holds many draws, the ratio nears 744 ÷ 72 hours.
    import numpy as np  # noqa: PLC0415

    made = demands("greensboro", "heated greenhouse")
    sizes = sizes_of(made.design)
    shift = np.linspace(-1.0, 1.0, 64)[:, None]
    parts = replace(made.parts, climate=replace(made.parts.climate, temperature_shift=shift))
    every = replace(parts, weather=parts.weather_year)
    full, typical = (seconds(lambda p=p: season_of(p, sizes), 3) for p in (every, parts))
    with capsys.disabled():
        print(
            f"\nfull year {1e3 * full:.1f} ms, typical days {1e3 * typical:.1f} ms, "
            f"ratio {full / typical:.1f} for 64 draws"
        )
    assert full > typical
