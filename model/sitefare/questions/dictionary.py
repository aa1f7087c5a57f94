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
_OWNERS = (
    "owners' cash after debt, grants and the tax of the statements, in constant prices of the "
    "appraisal date (equity view)"
)
_ECONOMIC = (
    "imports at the shadow exchange rate, unskilled hours at the shadow wage, emissions at a "
    "carbon price, food that reaches people at the local price, no taxes, duty or subsidies; "
    "constant prices, before funding (economic view)"
)
_EVEN = "the net present value is zero, all else as planned"

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
    "equivalent_annual_cost": Indicator(
        "Equivalent annual cost",
        "money/year",
        f"level yearly sum worth as much as all project costs over the appraisal; {_REAL}",
        "less",
    ),
    "npv_nominal": Indicator(
        "Net present value, nominal",
        "money",
        "nominal flows of the project at the nominal rate that matches the real one (Fisher); "
        "equal to the net present value",
        "more",
    ),
    "irr_nominal": Indicator(
        "Rate of return, nominal",
        "1/year",
        "as rate of return, of nominal flows: general inflation included",
        "more",
    ),
    "mirr_nominal": Indicator(
        "Modified rate of return, nominal",
        "1/year",
        "as modified rate of return, of nominal flows at nominal rates",
        "more",
    ),
    "payback_years_nominal": Indicator(
        "Payback, nominal", "year", "as payback, of nominal flows", "less"
    ),
    "npv_equity": Indicator(
        "Net present value to owners",
        "money",
        f"{_OWNERS}, discounted at the owners' rate",
        "more",
    ),
    "irr_equity": Indicator(
        "Owners' rate of return",
        "1/year",
        f"the one rate at which owners break even; {_OWNERS}",
        "more",
    ),
    "irr_equity_nominal": Indicator(
        "Owners' rate of return, nominal",
        "1/year",
        "as owners' rate of return, of nominal cash",
        "more",
    ),
    "mirr_equity": Indicator(
        "Owners' modified rate of return",
        "1/year",
        f"deficits financed at the owners' rate, surpluses at the reinvestment rate; {_OWNERS}",
        "more",
    ),
    "payback_years_equity": Indicator("Owners' payback", "year", f"as payback; {_OWNERS}", "less"),
    "discounted_payback_years_equity": Indicator(
        "Owners' discounted payback", "year", f"as discounted payback; {_OWNERS}", "less"
    ),
    "benefit_cost_ratio_equity": Indicator(
        "Owners' receipts over payments",
        "1",
        "present value of cash in months that give over that of months that take; " + _OWNERS,
        "more",
    ),
    "npv_economic": Indicator("Economic net present value", "money", _ECONOMIC, "more"),
    "irr_economic": Indicator(
        "Economic rate of return",
        "1/year",
        f"the one rate at which the economic net present value is zero; {_ECONOMIC}",
        "more",
    ),
    "benefit_cost_ratio_economic": Indicator(
        "Economic benefit–cost ratio",
        "1",
        f"present value of benefits and resale over that of costs; {_ECONOMIC}",
        "more",
    ),
    "break_even_price": Indicator(
        "Break-even price",
        "1",
        f"multiplier of all farm-gate prices at which {_EVEN}",
        "less",
    ),
    "break_even_price_main_food": Indicator(
        "Break-even price of the main food",
        "money/kg",
        f"farm-gate price of the crop with most ground, where sold, at which {_EVEN}",
        "less",
    ),
    "break_even_yield": Indicator(
        "Break-even yield",
        "1",
        "multiplier of all harvests, packing and carriage with them and inputs as planned, at "
        f"which {_EVEN}",
        "less",
    ),
    "break_even_occupancy": Indicator(
        "Break-even occupancy",
        "1",
        "share of the planned fish, plants and sales, with the costs that follow them, at which "
        f"{_EVEN}; above 1 the farm does not carry its fixed costs when full",
        "less",
    ),
    "break_even_capital": Indicator(
        "Break-even capital cost",
        "1",
        "multiplier of works, equipment, replacements and their resale, upkeep and insurance at "
        f"which {_EVEN}",
        "more",
    ),
    "break_even_wages": Indicator(
        "Break-even wages", "1", f"multiplier of every wage of operation at which {_EVEN}", "more"
    ),
    "peak_funding": Indicator(
        "Peak funding need",
        "money",
        "deepest cumulative nominal cash deficit before funding (funding view)",
        "less",
    ),
    "peak_funding_month": Indicator(
        "Month of the peak need",
        "month",
        "month in which cumulative cash before any funding is lowest, month 0 the appraisal date",
    ),
    "min_dscr": Indicator(
        "Lowest debt cover",
        "1",
        "lowest yearly cash available for debt service over debt service (funding view); its low "
        "is the lender's case, reached or passed in 9 of 10 draws",
        "more",
    ),
    "loan_life_cover": Indicator(
        "Loan-life cover",
        "1",
        "present value of cash available in the months that service debt over the debt when its "
        "service begins, both at the lenders' own rates (funding view)",
        "more",
    ),
    "grant_needed": Indicator(
        "Grant needed",
        "money",
        "grant at month 0, beside the other funding, so that cash never falls below the least kept "
        "(zero unless said), no overdraft used",
        "less",
    ),
    "grant_needed_equity_return": Indicator(
        "Grant needed for the owners' return",
        "money",
        "grant at month 0, beside the other funding, that gives owners the return they ask; they "
        "cover what is short and take what is left",
        "less",
    ),
    "grant_needed_debt_cover": Indicator(
        "Grant needed for the debt cover",
        "money",
        "grant in place of part of the loans, all alike, so that every year that repays has the "
        "cover that lenders ask",
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
