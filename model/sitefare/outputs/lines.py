"""What are lines of money called in print?"""

#: Lines and parts of the budget whose printed name is not their key with capitals.
WORDS = {
    "wages_manager": "Wages, manager",
    "wages_technician": "Wages, technician",
    "wages_worker": "Wages, workers",
    "electricity_fixed": "Electricity, standing and demand charges",
    "wages_on_call": "Pay for being on call",
    "microbe_tests": "Tests for E. coli",
    "local_rates": "Local property rates",
    "health_and_safety": "First aid and safety",
    "bank": "Bank charges and legal fees",
    "oxygen": "Back-up oxygen",
    "probes": "Probes of meters",
    "power_sold": "Solar electricity sold",
    "by_products": "By-products",
    "permits_yearly": "Permits, yearly",
    "technical_support": "Technical support (fading)",
    "unlisted": "Items not listed",
    "overrun": "Overrun of the reference class",
    "design": "Design, tender and supervision",
    "vat": "Value-added tax not recovered",
    "air": "Air and oxygen",
    "fish": "Fish tanks and filters",
    "operation": "Start of operation",
    "preparation": "Permits, reviews and training",
    "water": "Water",
    "climate": "Heating, cooling and light",
    "capital_grants_released": "Grants for works, taken to income",
    "grants_for_running": "Grants for deficits",
    "fish_in_tanks": "Change of fish in the tanks, at cost",
    "gain_on_disposal": "Gain or loss on what is sold",
    "profit_before_tax": "Profit before tax",
    "operating_activities": "Cash from operation",
    "investing_activities": "Cash from investment",
    "financing_activities": "Cash from funding",
    "net": "Change of cash",
    "cash_short_of_funding": "Cash short, that no source pays",
    "total_assets": "All assets",
    "total_claims": "All claims",
    "loan_fees": "Loan fees",
    "capital": "Building",
    "equity": "Equity paid in",
    "deferred_grants": "Grants not yet taken to income",
}


def printed_line(key: str) -> str:
    """Name a line or a part of the budget as printed."""
    if key.startswith("wages_") and key not in WORDS:
        return f"Wages, {key.removeprefix('wages_').replace('_', ' ')}"
    return WORDS.get(key, key.replace("_", " ").capitalize())


#: Names of terms that are not the key of a line with its first letter raised.
TERMS = {
    "food_reaching_people": "Food that reaches people, at local prices",
    "paid_by_people_served": "Paid by people served",
    "sold_elsewhere": "Sold elsewhere",
    "stock_held": "Stock held",
    "least_cash_kept": "Least cash kept",
    "replacement_reserve": "Replacement reserve",
    "given_in_kind": "Given in kind",
    "months_that_take": "Months that take money",
    "months_that_bring": "Months that bring money",
}


def term_name(key: str) -> str:
    """Name a term as printed: a line of money, a part of capital, a bill item."""
    if key in TERMS:
        return TERMS[key]
    for start, before in (("capital_", "Building: "), ("sales_", "Sales: "), ("bill.", "")):
        if key.startswith(start):
            name = printed_line(key.removeprefix(start))
            return before + (name[:1].lower() + name[1:] if before else name)
    return printed_line(key)
