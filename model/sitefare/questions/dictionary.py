"""What does each indicator mean, in which unit, and which way is better?"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Indicator:
    """One line of the data dictionary.

    `unit` holds `money` for the site's currency; `better` is 'more', 'less' or ''.
    """

    title: str
    unit: str
    meaning: str
    better: str = ""


_FULL = "mean over full-production years, expected event losses included"
_REAL = "constant prices of the appraisal date, after tax, before any grant, equity or loan"
_YEAR = f"{_FULL}, at appraisal-date prices"

INDICATORS: dict[str, Indicator] = {
    "people_fed": Indicator(
        "People fed", "person", f"persons supplied by the headline ration, {_FULL}", "more"
    ),
    "cost_per_person_day": Indicator(
        "Cost per person-day",
        "money/person/day",
        f"present value of all project costs over present value of person-days fed; {_REAL}",
        "less",
    ),
    "cost_per_person_day_net": Indicator(
        "Net cost per person-day",
        "money/person/day",
        "as cost per person-day, less the present value of food sold elsewhere",
        "less",
    ),
    "alternative_cost_person_day": Indicator(
        "Local alternative per person-day",
        "money/person/day",
        "the headline ration's food bought locally, at appraisal-date prices",
    ),
    "capex": Indicator(
        "Capital cost",
        "money",
        "capital budget at appraisal-date prices, contingency and land included",
        "less",
    ),
    "capex_per_person": Indicator(
        "Capital per person fed", "money/person", "capital cost over people fed", "less"
    ),
    "npv": Indicator(
        "Net present value",
        "money",
        f"monthly flows discounted to the end of month 0; {_REAL}",
        "more",
    ),
    "irr": Indicator(
        "Rate of return",
        "1/year",
        f"the one rate between −99 % and +1,000 % a year at which NPV is zero; {_REAL}",
        "more",
    ),
    "mirr": Indicator(
        "Modified rate of return",
        "1/year",
        f"deficits financed at the discount rate, surpluses at the reinvestment rate; {_REAL}",
        "more",
    ),
    "payback_years": Indicator(
        "Payback",
        "year",
        f"years from month 0 until cumulative flow stays no less than zero; {_REAL}",
        "less",
    ),
    "discounted_payback_years": Indicator(
        "Discounted payback", "year", f"as payback, flows discounted; {_REAL}", "less"
    ),
    "benefit_cost_ratio": Indicator(
        "Benefit–cost ratio",
        "1",
        f"present value of income over present value of all costs; {_REAL}",
        "more",
    ),
    "levelised_cost_vegetables_kg": Indicator(
        "Levelised cost of vegetables",
        "money/kg",
        "present value of costs, joint ones allocated by revenue, over present value of kilograms",
        "less",
    ),
    "levelised_cost_fish_kg": Indicator(
        "Levelised cost of fish",
        "money/kg",
        "as for vegetables, per kilogram of live fish",
        "less",
    ),
    "peak_funding": Indicator(
        "Peak funding need",
        "money",
        "deepest cumulative nominal cash deficit before funding (funding view)",
        "less",
    ),
    "min_dscr": Indicator(
        "Lowest debt cover",
        "1",
        "lowest yearly cash available for debt service over debt service (funding view)",
        "more",
    ),
    "grant_needed": Indicator(
        "Grant needed",
        "money",
        "grant at month 0, beside the other funding, so that cash never falls below zero",
        "less",
    ),
    "operating_cost_year": Indicator(
        "Operating cost a year", "money/year", f"{_YEAR}, every hour at a wage", "less"
    ),
    "fixed_cost_year": Indicator(
        "Fixed cost a year",
        "money/year",
        f"part of the operating cost paid whatever the harvest, people employed included; {_YEAR}",
        "less",
    ),
    "variable_cost_year": Indicator(
        "Variable cost a year",
        "money/year",
        f"part of the operating cost that follows fish, plants and harvest; {_YEAR}",
        "less",
    ),
    "sales_year": Indicator("Sales a year", "money/year", f"cash sales, {_YEAR}", "more"),
    "operating_cost_recovery": Indicator(
        "Operating cost recovered", "1", "sales a year over operating cost a year", "more"
    ),
    "subsidy_year_after_grant": Indicator(
        "Subsidy a year after the grant",
        "money/year",
        "operating cost, replacement reserve and debt service less sales, none if negative",
        "less",
    ),
    "replacement_reserve_year": Indicator(
        "Replacement reserve a year",
        "money/year",
        "level yearly sum that pays for replacements over the appraisal period",
        "less",
    ),
    "jobs_fte": Indicator("Jobs", "person", f"hours worked over 2,080 a year, {_FULL}"),
    "vegetables_marketable_kg_year": Indicator(
        "Marketable vegetables a year", "kg/year", _FULL, "more"
    ),
    "fish_live_kg_year": Indicator("Live fish a year", "kg/year", _FULL, "more"),
    "water_makeup_m3_year": Indicator(
        "Water a year", "m3/year", f"make-up water beyond rain collected, {_FULL}", "less"
    ),
    "litres_per_kg_crop": Indicator(
        "Water for a kilogram of crop",
        "L/kg",
        f"make-up water laid to crops by the allocation chosen, over marketable weight, {_FULL}",
        "less",
    ),
    "litres_per_kg_fish": Indicator(
        "Water for a kilogram of live fish",
        "L/kg",
        f"make-up water laid to fish by the allocation chosen, over live weight, {_FULL}",
        "less",
    ),
    "field_water_m3_year": Indicator(
        "Water of the field alternative",
        "m3/year",
        "irrigation of a field here for the same harvest of the crops that grow out of doors",
    ),
    "water_saved_share": Indicator(
        "Water saved against a field",
        "1",
        "one less all make-up water, fish's and crops', over irrigation of a field for the same "
        "crops; below zero the farm takes more",
        "more",
    ),
    "water_saved_with_fish_share": Indicator(
        "Water saved against a field and a pond",
        "1",
        "as water saved against a field, with a fed pond for the same fish beside the field",
        "more",
    ),
    "land_saved_m2": Indicator(
        "Land saved against a field",
        "m2",
        "land that a field would hold for the same crops less the farm's own ground; below zero "
        "the farm takes more",
        "more",
    ),
    "electricity_kwh_year": Indicator(
        "Electricity a year", "kWh/year", f"all uses and sources, {_FULL}", "less"
    ),
    "emissions_tco2e_year": Indicator(
        "Emissions a year", "t/year", f"carbon dioxide equivalent of energy used, {_FULL}", "less"
    ),
}
