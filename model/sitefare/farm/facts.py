"""What are the lines of the design sheet: sizes and machines?"""

from sitefare.arrays import MEAN_MONTH
from sitefare.farm import beds
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design


def facts(parts: Parts, design: Design) -> tuple[tuple[str, float, str], ...]:
    """Return the lines of the design sheet."""
    d = design.drivers
    return (
        ("Bed area", design.bed_area, "m2"),
        ("Covered area", design.covered_area, "m2"),
        ("Ground taken", design.footprint, "m2"),
        ("Fish tanks", float(design.tank_count), "1"),
        ("Volume of each tank", design.tank_volume, "m3"),
        ("All water", design.water_volume, "m3"),
        ("Sump", d["sump_volume"], "m3"),
        ("Media", d["media_volume"], "m3"),
        ("Flow", d["flow"], "m3/h"),
        ("Fish stocked in a tank", design.stocked_fish, "fish"),
        ("Days between stockings", design.stagger_months * MEAN_MONTH, "day"),
        ("Feed", design.feed_per_day, "kg/day"),
        ("Feed over bed area", design.feed_per_day * 1000.0 / design.bed_area, "g/m2/day"),
        ("Head the water is lifted against", d["pump_head"], "m"),
        ("Main, inner diameter", d["main_diameter"] * 1000.0, "mm"),
        ("Main, length", d["main_length"], "m"),
        ("Lifting of water", d["pump_power"], "kW"),
        ("Blowers", d["blower_power"], "kW"),
        ("Air to the diffusers", d["air_flow"], "m3/h"),
        ("Oxygen that must dissolve a metre, in clean water", d["oxygen_transfer"] * 100.0, "%"),
        ("Heaters", d["heater_power"], "kW"),
        ("Cooling", d["cooling_power"], "kW"),
        ("Dehumidifiers", d["dehumidifier_power"], "kW"),
        ("Lamps", d["lamp_power"], "kW"),
        ("Solar array", d["pv_power"], "kW"),
        ("Battery", d["battery_energy"], "kWh"),
        ("Generator", d["generator_power"], "kW"),
        ("Second generator", d["second_generator_power"], "kW"),
        ("Generator fuel store", d["fuel_store"], "L"),
        ("Heating fuel store", d["heating_fuel_store"], "L"),
        ("Load of a flooded bed on its floor", base(beds.floor_load(parts.bed)), "kN/m2"),
        (
            "Load of a tank on its floor",
            beds.WATER_WEIGHT * base(parts.design.tank_depth),
            "kN/m2",
        ),
        (
            "Time fish last without air, fullest tank, warmest water",
            design.life_support_minutes,
            "min",
        ),
    )
