"""The sites and houses of tests/weather, for the benchmarks too."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

SHARED = Path(__file__).parents[1] / "weather" / "conftest.py"
spec = spec_from_file_location("weather_conftest", SHARED)
shared = module_from_spec(spec)
spec.loader.exec_module(shared)

hourly_library = shared.hourly_library
demands = shared.demands
errors_of = shared.errors_of
