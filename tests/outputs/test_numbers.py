"""Numbers become text in one way, by locale."""

import math

import pytest

from sitefare.outputs.numbers import NBSP, Formats, no_answer, scale_of, significant

ENGLISH = Formats("en", "USD")
GERMAN = Formats("de", "EUR")


def said(text):
    return text.replace(NBSP, " ").replace("\u202f", " ")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (ENGLISH.number(412_345), "412,000"),
        (ENGLISH.number(0.012345, 2), "0.012"),
        (ENGLISH.number(1), "1"),
        (ENGLISH.number(1.0004), "1.00"),
        (ENGLISH.number(-3.14159, unit="m³"), "−3.14 m³"),
        (ENGLISH.number(math.nan), "–"),
        (ENGLISH.number(999.6), "1,000"),
        (ENGLISH.count(1179.6), "1,180"),
        (ENGLISH.decimal(2.5, 0), "2"),
        (ENGLISH.money(412_345), "USD 412,000"),
        (ENGLISH.money(1.8371), "USD 1.84"),
        (ENGLISH.money(0.05127), "USD 0.0513"),
        (ENGLISH.money(12), "USD 12.0"),
        (ENGLISH.money(-96_543, "KES"), "−KES 96,500"),
        (ENGLISH.money(None), "–"),
        (ENGLISH.share(0.4249), "42 %"),
        (ENGLISH.share(0.0012345), "0.12 %"),
        (ENGLISH.share(4.2), "420 %"),
        (ENGLISH.share(0), "0 %"),
        (ENGLISH.years(8.04), "8.0 years"),
        (ENGLISH.years(12.4), "12 years"),
        (ENGLISH.month_name(3), "Mar"),
        (GERMAN.number(412_345), "412.000"),
        (GERMAN.money(1.8371), "1,84 EUR"),
        (GERMAN.money(-1234), "−1.230 EUR"),
    ],
)
def test_formats(text, expected):
    assert said(text) == expected


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (1.2, 1.9, "USD 1.20–1.90"),
        (-5000, 9000, "−USD 5,000 to USD 9,000"),
        (1.2, 1.2, "USD 1.20"),
        (1.2, None, "USD 1.20 or more"),
        (None, 3, "USD 3.00 or less"),
        (None, math.inf, ""),
    ],
)
def test_ranges_carry_the_currency_once(low, high, expected):
    assert said(ENGLISH.span(low, high, ENGLISH.money)) == expected


def test_ranges_carry_the_unit_once():
    assert said(ENGLISH.span(0.1, 0.3, ENGLISH.share)) == "10–30 %"
    assert said(GERMAN.span(1, 2, GERMAN.money)) == "1,00–2,00 EUR"
    assert said(ENGLISH.span(-3, 2, lambda x: ENGLISH.decimal(x, 0, "°C"))) == "−3 to 2 °C"
    assert said(ENGLISH.span(-20, 20, ENGLISH.money)) == "−USD 20.0 to USD 20.0"


def test_no_answer_says_why():
    assert ENGLISH.answer(None, ENGLISH.money, "several rates solve it") == no_answer(
        "several rates solve it"
    )
    assert ENGLISH.answer(math.inf, ENGLISH.years) == "No answer: not defined for this case"
    assert said(ENGLISH.answer(2, ENGLISH.money)) == "USD 2.00"


def test_rounding_is_half_to_even_on_the_decimal():
    assert [str(significant(x, 2)) for x in (0.125, 0.135, 2.675)] == ["0.12", "0.14", "2.7"]


def test_axis_scale():
    assert scale_of([1e3, -3e6]) == (1e6, "million")
    assert scale_of([math.nan, 5e3]) == (1e3, "thousand")
    assert scale_of([]) == (1.0, "")
