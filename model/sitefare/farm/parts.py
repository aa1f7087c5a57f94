"""Which fish, beds, house and machines were chosen: every input of one farm, built once."""

from dataclasses import dataclass

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, build_all, choice, inputs, quantity
from sitefare.farm.aeration import AerationInputs
from sitefare.farm.beds import BedInputs
from sitefare.farm.climate import ClimateInputs, PlaceInputs, Weather, weather_of
from sitefare.farm.coldstore import ColdStoreInputs
from sitefare.farm.crops import CropInputs, ProductionInputs, planned
from sitefare.farm.enclosure import EnclosureInputs, HouseInputs
from sitefare.farm.energy import EnergyInputs, FuelInputs
from sitefare.farm.field import FieldCropInputs, FieldInputs
from sitefare.farm.fish import SpeciesInputs
from sitefare.farm.gases import GasInputs
from sitefare.farm.hatchery import HatcheryInputs, as_bred
from sitefare.farm.labour import LabourInputs, TaskInputs
from sitefare.farm.lifesupport import LifeSupportInputs
from sitefare.farm.light import LightInputs
from sitefare.farm.moisture import TranspirationInputs
from sitefare.farm.nitrification import NitrificationInputs
from sitefare.farm.nutrients import NutrientInputs
from sitefare.farm.oxygen import OxygenInputs, held_for
from sitefare.farm.pumping import PumpingInputs
from sitefare.farm.salinity import SalinityInputs, SaltToleranceInputs
from sitefare.farm.solar import SolarInputs
from sitefare.farm.supply import SupplyInputs
from sitefare.farm.treatment import TreatmentInputs
from sitefare.farm.water import SourceWaterInputs, WaterInputs
from sitefare.farm.water_heat import WaterHeatInputs


@inputs("farm_design")
class FarmDesignInputs:
    """What kind of farm it is, and the margins it is built with."""

    species: str = choice("tilapia", "catfish", "carp", "trout", doc="The fish.")
    bed: str = choice("media", "raft", "channel", doc="The kind of bed.")
    enclosure: str = choice(
        "open",
        "shade_net",
        "single_film",
        "double_film",
        "polycarbonate",
        "warehouse",
        "basement",
        doc="What covers it.",
    )
    heated_air: str = choice("yes", "no", doc="Air is heated to the set points.")
    heated_water: str = choice("yes", "no", doc="Water is heated to the fish's target.")
    lamps: str = choice("yes", "no", doc="Lamps top the light up to its target.")
    cooling: str = choice("vents", "pad_and_fan", "mechanical", doc="What cools the air.")
    lifting: str = choice("pump", "air_lift", doc="What lifts the water.")
    backup_class: str = choice(
        "media_only", "full", doc="Media beds alone; or solids removal, degassing, air and alarm."
    )
    fingerlings: str = choice("bought", "own_hatchery", doc="Where fingerlings come from.")
    harvest: str = choice("whole_tank", "graded", doc="How a tank is harvested.")
    harvest_months: Array = quantity(
        "month", low=1, high=8, varies="choice", doc="Months a tank is graded out over, if graded."
    )
    density: Array = quantity(
        "kg/m3", low=1, high=200, varies="choice", doc="Fish at harvest per tank volume, as asked."
    )
    tank_count_least: Array = quantity(
        "1", low=1, high=60, varies="choice", doc="Fewest tanks, so that harvests are staggered."
    )
    tank_volume_largest: Array = quantity(
        "m3", low=0.3, high=500, varies="choice", doc="Largest tank."
    )
    tank_depth: Array = quantity("m", low=0.4, high=4, varies="choice", doc="Depth of water.")
    tank_room: Array = quantity(
        "1", low=1, high=4, varies="choice", doc="Floor for tanks and access over tank surface."
    )
    tank_loss: Array = quantity(
        "W/m3/K", low=0, high=30, doc="Dry heat from tanks to the air, per volume."
    )
    tank_turnover: Array = quantity(
        "1/h", low=0.1, high=5, varies="choice", doc="Tank volumes an hour."
    )
    filter_share: Array = quantity(
        "1", low=0, high=2, varies="choice", doc="Clarifiers and filters over tank volume, if full."
    )
    sump_share: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Sump over tank volume, floods of media apart."
    )
    power_margin: Array = quantity(
        "1", low=1, high=3, varies="choice", doc="Installed over computed power."
    )
    feed_basis: str = choice(
        "feed_ratio",
        "plant_nitrogen",
        doc="Feed basis: the feed-rate ratio, or the plants' nitrogen.",
    )
    nitrogen_margin: Array = quantity(
        "1",
        low=1,
        high=5,
        varies="choice",
        doc="Nitrogen margin: given over what plants take, where feed is set by it.",
    )
    filter_margin: Array = quantity(
        "1", low=1, high=5, varies="choice", doc="Ammonia the filter is sized for over the made."
    )
    service_share: Array = quantity(
        "1",
        low=0,
        high=2,
        varies="choice",
        doc="Packing, stores and staff rooms over covered area.",
    )
    site_share: Array = quantity(
        "1", low=1, high=5, varies="choice", doc="Ground taken over buildings."
    )
    rain_tank_days: Array = quantity(
        "day",
        low=0,
        high=365,
        varies="choice",
        doc="Days of water use the rain tank holds; 0 is none.",
    )
    cold_store_days: Array = quantity(
        "day", low=0, high=60, varies="choice", doc="Days of harvest the cold store holds."
    )
    harvest_days: Array = quantity(
        "day",
        low=0.5,
        high=60,
        varies="choice",
        doc="Days over which a tank or grade is harvested.",
    )
    cold_store_density: Array = quantity(
        "kg/m3", low=20, high=500, varies="choice", doc="Produce in a cubic metre of cold store."
    )


@dataclass(frozen=True)
class Parts:
    """Inputs of one farm, chosen parts only; typical and full weather where a file gives it."""

    place: PlaceInputs
    climate: ClimateInputs
    design: FarmDesignInputs
    house: EnclosureInputs
    rules: HouseInputs
    canopy: TranspirationInputs
    pool: WaterHeatInputs
    light: LightInputs
    crops: dict[str, tuple[CropInputs, Array]]
    production: ProductionInputs
    species: SpeciesInputs
    bed: BedInputs
    hatchery: HatcheryInputs | None
    oxygen: OxygenInputs
    gas: GasInputs
    nitrification: NitrificationInputs
    life_support: LifeSupportInputs
    nutrients: NutrientInputs
    source: SourceWaterInputs
    water: WaterInputs
    salinity: SalinityInputs
    tolerance: dict[str, SaltToleranceInputs]
    treatment: TreatmentInputs
    field: FieldInputs
    field_crops: dict[str, FieldCropInputs]
    energy: EnergyInputs
    fuel: FuelInputs
    cold_store: ColdStoreInputs
    pumping: PumpingInputs
    aeration: AerationInputs
    solar: SolarInputs
    supply: SupplyInputs
    labour: LabourInputs
    tasks: dict[str, TaskInputs]
    weather: Weather | None = None
    weather_year: Weather | None = None

    @property
    def full(self) -> bool:
        """Whether the farm has solids removal, degassing, standby air and alarm."""
        return self.design.backup_class == "full"

    @property
    def harvest_months(self) -> float:
        """Months a tank is harvested over; 1 where it is emptied at once. [month]"""
        return float(self.design.harvest_months[0, 0]) if self.design.harvest == "graded" else 1.0


def parts_of(values: Values) -> Parts:
    """Build the inputs of the farm that `values` choose."""
    design = build(FarmDesignInputs, values)
    species = build(SpeciesInputs, values, design.species)
    own = design.fingerlings == "own_hatchery"
    hatchery = build(HatcheryInputs, values) if own else None
    crops = planned(values)
    energy = build(EnergyInputs, values)
    return Parts(
        place=build(PlaceInputs, values),
        climate=build(ClimateInputs, values),
        design=design,
        house=build(EnclosureInputs, values, design.enclosure),
        rules=build(HouseInputs, values),
        canopy=build(TranspirationInputs, values),
        pool=build(WaterHeatInputs, values),
        light=build(LightInputs, values),
        crops=crops,
        production=build(ProductionInputs, values),
        species=as_bred(species, hatchery) if hatchery else species,
        hatchery=hatchery,
        bed=build(BedInputs, values, design.bed),
        oxygen=held_for(build(OxygenInputs, values), species.oxygen_least),
        gas=build(GasInputs, values),
        nitrification=build(NitrificationInputs, values),
        life_support=build(LifeSupportInputs, values),
        nutrients=build(NutrientInputs, values),
        source=build(SourceWaterInputs, values),
        water=build(WaterInputs, values),
        salinity=build(SalinityInputs, values),
        tolerance={k: build(SaltToleranceInputs, values, k) for k in crops},
        treatment=build(TreatmentInputs, values),
        field=build(FieldInputs, values),
        field_crops={k: build(FieldCropInputs, values, k) for k in crops},
        energy=energy,
        fuel=build(FuelInputs, values, energy.heating_fuel),
        cold_store=build(ColdStoreInputs, values),
        pumping=build(PumpingInputs, values),
        aeration=build(AerationInputs, values),
        solar=build(SolarInputs, values),
        supply=build(SupplyInputs, values),
        labour=build(LabourInputs, values),
        tasks=build_all(TaskInputs, values),
        weather=weather_of(values, "weather"),
        weather_year=weather_of(values, "weather_year"),
    )
