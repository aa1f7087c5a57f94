"""Formulas of the indicators: each with the words that stand where it has no answer.

Present values are sums of products with the factors of sheet Views; means over full-production
years are sums by project year.
"""

from dataclasses import dataclass

from sitefare.appraisal import FULL_TIME
from sitefare.money.indicators import COSTS
from sitefare.outputs.workbook.made import Made
from sitefare.outputs.workbook.rates import RATES
from sitefare.outputs.workbook.years import NO_COVER

NO_RATE, SEVERAL, ONE_WAY = "no rate", "several rates", "money flows one way"
NO_LOAN, NOBODY, NOTHING = "no loan is repaid", "nobody is fed", "nothing to divide by"


@dataclass(frozen=True)
class Answer:
    """The formula of one indicator, and its words for no answer."""

    formula: str
    empty: str = ""


def worth(line: str, factor: str = "factor.real") -> str:
    """Return the present value of a line."""
    return f"SUMPRODUCT({{{line}:}},{{{factor}:}})"


def mean(line: str) -> str:
    """Return the mean yearly sum of a line over full-production years."""
    return f'SUMIF({{year:}},">="&{{full.first}},{{{line}:}})/{{full.years}}'


def over(top: str, bottom: str, empty: str) -> Answer:
    """Return a quotient, words where the divisor is not above zero."""
    return Answer(f'IF({bottom}>0,({top})/({bottom}),"{empty}")', empty)


def payback(key: str, flow: str, made: Made) -> Answer:
    """Return years until the sum of a flow stays at or above zero."""
    months, never = made.timeline.months, f"not within {made.timeline.years} years"
    last = f"MAX({{{key}.below:}})"
    step = f"INDEX({{{flow}:}},1,{last}+1)"
    part = f"-INDEX({{{key}.so_far:}},1,{last})/IF({step}>0,{step},1)"
    return Answer(f'IF({last}=0,0,IF({last}={months + 1},"{never}",({last}-1+{part})/12))', never)


def modified(flow: str, finance: str, again: str, rate: str, made: Made) -> Answer:
    """Return the modified rate of return of a flow."""
    years = made.timeline.years
    outlay = f"-SUMPRODUCT(({{{flow}:}}<0)*{{{flow}:}},{{{finance}:}})"
    today = f"SUMPRODUCT(({{{flow}:}}>0)*{{{flow}:}},{{{again}:}})"
    return Answer(
        f"IF(AND({outlay}>0,{today}>0),({today}*(1+{rate})^{years}/({outlay}))^(1/{years})-1,"
        f'"{ONE_WAY}")', ONE_WAY,
    )  # fmt: skip


def rate_answers() -> dict[str, Answer]:
    """Return the rates of return."""
    return {
        name: Answer(
            f"IF({{rates.{name}.count}}=1,{{rates.{name}.rate}},"
            f'IF({{rates.{name}.count}}=0,"{NO_RATE}","{SEVERAL}"))'
        )
        for name, _, _ in RATES
    }


def project_answers(made: Made) -> dict[str, Answer]:
    """Return what the project is worth before funding."""
    years, rate = made.timeline.years, "{in:project.discount_rate}"
    factors = ("factor.real", "factor.again")
    recovery = f"IF({rate}=0,1/{years},{rate}/(1-(1+{rate})^(-{years})))"
    share = "{worth.vegetable_value}/({worth.vegetable_value}+{worth.fish_value})"
    both = "{worth.vegetable_value}+{worth.fish_value}"
    return {
        "npv": Answer(worth("real.net")),
        "npv_without_residual": Answer(f"{worth('real.net')}-{{worth.residual}}"),
        "mirr": modified("real.net", *factors, "{in:project.reinvestment_rate}", made),
        "payback_years": payback("real", "real.before_sale", made),
        "discounted_payback_years": payback("real_discounted", "real.discounted", made),
        "benefit_cost_ratio": over("{worth.income}+{worth.residual}", "{worth.costs}", NOTHING),
        "equivalent_annual_cost": Answer(f"{{worth.costs}}*{recovery}"),
        "levelised_cost_vegetables_kg": Answer(
            f"IF(AND({both}>0,{{worth.vegetables_kg}}>0),"
            f'{{worth.costs}}*{share}/{{worth.vegetables_kg}},"{NOTHING}")', NOTHING),
        "levelised_cost_fish_kg": Answer(
            f"IF(AND({both}>0,{{worth.fish_kg}}>0),"
            f'{{worth.costs}}*(1-{share})/{{worth.fish_kg}},"{NOTHING}")', NOTHING),
        "levelised_cost_by_mass_kg": over(
            "{worth.costs}", "({worth.vegetables_kg}+{worth.fish_kg})", NOTHING),
        "npv_nominal": Answer(worth("project.net", "factor.nominal")),
        "mirr_nominal": modified("project.net", "factor.nominal", "factor.nominal_again",
                                 "{rate.nominal_again}", made),
        "payback_years_nominal": payback("project", "project.before_sale", made),
    }  # fmt: skip


def other_views(made: Made) -> dict[str, Answer]:
    """Return what the farm is worth to its owners and to the country."""
    taken = "-SUMPRODUCT(({owners.real:}<0)*{owners.real:},{factor.owners:})"
    given = "SUMPRODUCT(({owners.real:}>0)*{owners.real:},{factor.owners:})"
    gains, net = (
        worth("economic.gains", "factor.economic"),
        worth("economic.net", "factor.economic"),
    )
    never = "the owners never put money in"
    return {
        "npv_equity": Answer(worth("owners.real", "factor.owners")),
        "mirr_equity": modified("owners.real", "factor.owners", "factor.again",
                                "{in:project.reinvestment_rate}", made),
        "payback_years_equity": payback("owners", "owners.before_sale", made),
        "discounted_payback_years_equity": payback("owners_discounted", "owners.discounted", made),
        "benefit_cost_ratio_equity": over(given, f"({taken})", never),
        "npv_economic": Answer(net),
        "benefit_cost_ratio_economic": over(gains, f"({gains}-{net})", NOTHING),
    }  # fmt: skip


def yearly_answers(made: Made) -> dict[str, Answer]:
    """Return capital, what a full-production year costs and brings, and what funders ask."""
    lowest = "MIN({project.cash_so_far:})"
    loans = bool(made.books.funding.loans)
    cover = over(worth("cover.available", "cover.factor"), worth("debt.service", "cover.factor"),
                 NO_LOAN)  # fmt: skip
    return {
        "capex": Answer("-SUM({real.capital:})"),
        "capex_per_person": over("{out.capex}", "{out.people_fed}", NOBODY),
        "operating_cost_year": Answer(mean("running.at_date")),
        "fixed_cost_year": Answer(mean("running.fixed_at_date")),
        "variable_cost_year": Answer("{out.operating_cost_year}-{out.fixed_cost_year}"),
        "sales_year": Answer(mean("income.at_date")),
        "operating_cost_recovery": over("{out.sales_year}", "{out.operating_cost_year}", NOTHING),
        "replacement_reserve_year": Answer("{capital.reserve}"),
        "peak_funding": Answer(f"MAX(0,-{lowest})"),
        "peak_funding_month": Answer(
            f"IF({lowest}<0,MATCH({lowest},{{project.cash_so_far:}},0)-1,0)"
        ),
        "min_dscr": Answer(
            f'IF(COUNTIF({{years.cover:}},"{NO_COVER}")={made.timeline.years + 1},"{NO_LOAN}",'
            "MIN({years.cover:}))",
            NO_LOAN,
        ),
        "loan_life_cover": cover if loans else Answer(f'"{NO_LOAN}"', NO_LOAN),
        "subsidy_year_after_grant": Answer(
            f"MAX(0,{{out.replacement_reserve_year}}-{mean('cover.surplus')})"
        ),
    }


def people_answers(made: Made) -> dict[str, Answer]:
    """Return people fed and costs per person-day, by ration and by the headline's."""
    found = {"people_fed": Answer(f"{{out.people_fed.{made.fed.headline}}}")}
    for name in made.fed.rations:
        days = f"({{worth.persons.{name}}}*365/12)"
        net = "{worth.costs}-{worth.elsewhere}"
        found[f"people_fed.{name}"] = Answer(f"{mean(f'people.{name}.persons')}/12")
        found[f"cost_per_person_day.{name}"] = over("{worth.costs}", days, NOBODY)
        found[f"cost_per_person_day_net.{name}"] = over(net, days, NOBODY)
    for name in ("cost_per_person_day", "cost_per_person_day_net"):
        found[name] = Answer(f"{{out.{name}.{made.fed.headline}}}", NOBODY)
    return found


def farm_answers(made: Made) -> dict[str, Answer]:
    """Return what goes in and out of the farm in a full-production year."""
    hours = "+".join(mean(f"farm.hours.{role}") for role in made.flows.role_hours)
    return {
        "alternative_cost_person_day": Answer("{people.alternative_cost}"),
        "vegetables_marketable_kg_year": Answer(mean("farm.vegetables")),
        "fish_live_kg_year": Answer(mean("farm.fish")),
        "water_makeup_m3_year": Answer(mean("farm.water")),
        "electricity_kwh_year": Answer(mean("farm.electricity")),
        "emissions_tco2e_year": Answer(f"{mean('farm.emissions')}/1000"),
        "jobs_fte": Answer(f"({hours})/{FULL_TIME:g}"),
    }


def answers(made: Made) -> dict[str, Answer]:
    """Return every indicator that a formula makes."""
    return {
        **people_answers(made), **rate_answers(), **project_answers(made), **other_views(made),
        **yearly_answers(made), **farm_answers(made),
    }  # fmt: skip


def costs_formula() -> str:
    """Return the present value of all project costs, positive."""
    return "-(" + "+".join(f"{{worth.{name}}}" for name in COSTS) + ")"
