"""When is each thing bought again or overhauled, and how is it written off?

One row an item and purpose, nominal. A thing is replaced at the end of its life until the
appraisal ends, overhauled at half of it where the bill says so, and written off in equal months
from the month after it is paid for, or from the end of construction.
"""

from sitefare.money.delivery import COMPONENTS
from sitefare.money.economic import LANDED
from sitefare.outputs.workbook.bill import TITLES
from sitefare.outputs.workbook.frame import Heading, Item, Line, Sheet
from sitefare.outputs.workbook.lives import (
    CALENDAR,
    Life,
    item_price,
    lasting,
    overhauls,
    shipped,
)
from sitefare.outputs.workbook.made import Made


def grown(made: Made) -> list[Item]:
    """Return what each part of a cost takes in a month for 1 of its line of the bill."""
    factor, paths = made.money.parts.factor, made.money.paths
    return [
        Line(f"grown.{name}", f"{TITLES[name].capitalize()}, with what is added to the bill", "1",
             f"{{capital.factor}}*{{price.{name}}}", factor * paths[name], kind="path")
        for name in COMPONENTS
    ]  # fmt: skip


def renewal_line(made: Made, n: int) -> Line:
    """Return an item's replacements."""
    one = Life(made, n)
    since, months = f"({{month}}-{one.built})", f"{{item.{one.key}.months}}"
    due = f"AND({{in:bill.{one.key}.life}}>0,{since}>0,{{month}}<{one.end},MOD({since},{months})=0)"
    return Line(f"renew.{one.key}", str(one.item.title), made.currency,
                f"IF({due},{item_price(made, n)},0)", one.renewed(one.price),
                total=True)  # fmt: skip


def overhaul_line(made: Made, n: int) -> Line:
    """Return an item's overhauls."""
    one = Life(made, n)
    since = f"({{month}}-{one.built}-{{item.{one.key}.half}})"
    months = f"{{item.{one.key}.months}}"
    due = (
        f"AND({{in:bill.{one.key}.life}}>0,{since}>=0,{{month}}<{one.end},MOD({since},{months})=0)"
    )
    cost = f"{{in:bill.{one.key}.overhaul}}*({item_price(made, n)})"
    return Line(f"overhaul.{one.key}", str(one.item.title), made.currency, f"IF({due},{cost},0)",
                one.overhauled(one.price), total=True)  # fmt: skip


def landed_line(made: Made, n: int) -> Line:
    """Return what an item's replacements and overhauls land from abroad."""
    one = Life(made, n)
    bought = f"IF({{renew.{one.key}}}>0,1,0)"
    if one.key in overhauls(made):
        over = f"{{in:bill.{one.key}.overhaul}}"
        bought = f"({bought}+IF({{overhaul.{one.key}}}>0,{over},0))"
    abroad = "+".join(f"{{bill.{one.key}.{name}}}*{{grown.{name}}}" for name in LANDED)
    values = one.renewed(one.landed) + one.overhauled(one.landed)
    return Line(f"landed.{one.key}", str(one.item.title), made.currency,
                f"{bought}*({abroad})", values, total=True)  # fmt: skip


def later_line(made: Made, n: int) -> Line:
    """Return the write-off of an item's replacements: each lasts until the next."""
    one = Life(made, n)
    key, months = f"written_later.{one.key}", f"{{item.{one.key}.months}}"
    since = f"({{month}}-1-{one.built})"
    formula = (
        f"IF(OR({{in:bill.{one.key}.life}}<=0,{since}<{months}),0,"
        f"IF(MOD({since},{months})=0,{{renew.{one.key}<}}/{months},{{{key}<}}))"
    )
    return Line(key, str(one.item.title), made.currency, formula,
                one.written(one.renewed(one.price), one.months), total=True)  # fmt: skip


def overhaul_written_line(made: Made, n: int) -> Line:
    """Return the write-off of an item's overhauls, over the other half of its life."""
    one = Life(made, n)
    key, months = f"written_overhaul.{one.key}", f"{{item.{one.key}.months}}"
    half, since = f"{{item.{one.key}.half}}", f"({{month}}-1-{one.built})"
    formula = (
        f"IF(OR({{in:bill.{one.key}.life}}<=0,{since}<{half}),0,"
        f"IF(MOD({since}-{half},{months})=0,{{overhaul.{one.key}<}}/({months}-{half}),"
        f"IF(MOD({since},{months})=0,0,{{{key}<}})))"
    )
    return Line(key, str(one.item.title), made.currency, formula,
                one.written(one.overhauled(one.price), one.months - one.half), total=True)  # fmt: skip


def sheet(made: Made) -> Sheet:
    """Return the sheet Renewals."""
    bill = made.money.parts.bill
    place = {key: n for n, (key, _) in enumerate(bill.items)}
    again = [place[key] for key in lasting(made)]
    over = [place[key] for key in overhauls(made)]
    items: list[Item] = [
        Heading("Prices of the parts of a cost"),
        *grown(made),
        Heading("Replacements"),
        *(renewal_line(made, n) for n in again),
    ]
    items += [Heading("Overhauls"), *(overhaul_line(made, n) for n in over)]
    abroad = [place[key] for key in shipped(made)]
    items += [Heading("Replacements and overhauls: the part landed from abroad")]
    items += [landed_line(made, n) for n in abroad]
    items += [Heading("Depreciation of replacements"), *(later_line(made, n) for n in again)]
    items += [Heading("Depreciation of overhauls"), *(overhaul_written_line(made, n) for n in over)]
    never = {f"bill.{key}.life" for key in place if key not in lasting(made)}
    never |= {f"bill.{key}.overhaul" for key in place if key not in overhauls(made)}
    lead = f"Nominal {made.currency}. Sheet Capital sums these rows."
    return Sheet("Renewals", "Renewal and depreciation, item by item", lead, tuple(items),
                 axis="months", locked=CALENDAR | never)  # fmt: skip
