"""What happens to the answer when one moves the assumptions that matter most?

Sliders over the 1-in-10 ends of the widest rows; key figures and two charts follow each move.
The middle of each slider is the plan: left of it lies the way to the low end, right of it the way
to the high end.
The farm stays as it was sized: a row that only sizes it moves nothing here, and a saved scenario
is sized anew when it is appraised.
"""

import textwrap
from collections.abc import Mapping
from typing import Any

import ipywidgets as widgets
import numpy as np
import pandas as pd
from markupsafe import Markup

from sitefare.appraisal import Appraisal, Plan, appraise
from sitefare.assumptions.case import moved_values
from sitefare.assumptions.rows import Row
from sitefare.errors import SitefareError
from sitefare.money.explain import terms_of
from sitefare.outputs.cells import NO_MENU, SCHEMA, VEGALITE
from sitefare.outputs.charts_explorer import ALL_ELSE, cash_beside, costs_beside, scaled, with_rows
from sitefare.outputs.lines import printed_line
from sitefare.outputs.numbers import Formats, scale_of
from sitefare.outputs.picture import Picture
from sitefare.outputs.proposal.view import raised, row_value, row_words
from sitefare.outputs.saved_scenario import save_scenario
from sitefare.questions.tornado import Bar, tornado

#: Key figures: indicator, title, how it is written.
FIGURES = (
    ("people_fed", "People fed", "people"),
    ("cost_per_person_day", "Cost a person-day", "amount"),
    ("alternative_cost_person_day", "The same food bought locally", "amount"),
    ("capex", "Capital", "amount"),
    ("operating_cost_year", "Operating cost a year", "amount"),
    ("sales_year", "Sales a year", "amount"),
    ("npv", "Net present value", "amount"),
    ("payback_years", "Payback", "years"),
)

#: Steps of a slider from the plan to either end.
STEPS = 50

#: Parts of a person-day's cost that are drawn, the rest being one bar.
PARTS = 7

#: Groups of project costs that are not running lines.
OTHER_COSTS = {
    "capital": "Building",
    "replacement": "Renewals",
    "working_capital": "Working capital",
    "tax": "Tax",
}


#: How the key figures stand in the notebook.
HEAD = Markup("<tr><th></th><th style='padding:0 1em'>As planned</th><th>As moved</th></tr>")
LINE = Markup(
    "<tr><th style='text-align:left'>{}</th><td style='text-align:right;padding:0 1em'>{}</td>"
    "<td style='text-align:right'><b>{}</b></td></tr>"
)
LABEL = Markup(
    "<div style='line-height:1.4'><b>{}</b><br>{}{} "
    "<span style='opacity:0.7'>({} to {})</span></div>"
)
NOTE = Markup("<p>People are counted by this ration: {}. Money in {}.</p>")


class Explorer:
    """Sliders, key figures and charts of one plan; `view` is what a notebook shows."""

    def __init__(self, plan: Plan, rows: int = 8, indicator: str = "cost_per_person_day") -> None:
        self.plan = plan
        self.formats = Formats("en", plan.case.currency)
        bars = (_widest(plan, indicator) or _widest(plan, "npv"))[:rows]
        self.base = appraise(plan)
        self.now = self.base
        self.sliders = {bar.row.name: self._slider(bar.row) for bar in bars}
        self._quiet = False
        self._labels = {name: widgets.HTML() for name in self.sliders}
        self._figures = widgets.HTML()
        self._cash, self._costs = widgets.Output(), widgets.Output()
        self._parts = list(person_day_parts(self.base))[:PARTS]
        self._divisor = scale_of(self._cash_frame()["planned"])[0]
        self._drawings = self._first_drawings()
        self.name = widgets.Text(value="", placeholder="my_scenario", description="Save as")
        self.reset_button = widgets.Button(description="Back to the plan")
        self.save_button = widgets.Button(description="Save as scenario")
        self.said = widgets.HTML()
        self.reset_button.on_click(lambda _: self.reset())
        self.save_button.on_click(lambda _: self.save())
        for slider in self.sliders.values():
            slider.observe(lambda _: self._follow(), names="value")
        self._follow()

    @property
    def view(self) -> widgets.Widget:
        """The sliders beside what follows them."""
        left = [w for name, s in self.sliders.items() for w in (self._labels[name], s)]
        saving = widgets.HBox([self.name, self.save_button], layout=_wrapping())
        left += [self.reset_button, saving, self.said]
        right = [self._figures, self._cash, self._costs]
        columns = [
            widgets.VBox(left, layout=widgets.Layout(min_width="300px", flex="1 1 320px")),
            widgets.VBox(right, layout=widgets.Layout(min_width="320px", flex="2 1 520px")),
        ]
        return widgets.HBox(columns, layout=_wrapping())

    @property
    def moved(self) -> dict[str, float]:
        """Rows that stand elsewhere than planned. [unit of the row]"""
        return {n: self._number(n) for n, s in self.sliders.items() if s.value}

    @property
    def words(self) -> str:
        """The key figures as lines of text, as moved."""
        lines = [f"{title}: {self._shown(self.now, key, how)}" for key, title, how in FIGURES]
        ration = self.base.fed.rations[self.base.fed.headline].title
        return "\n".join([f"Counted by: {ration}; money in {self.formats.currency}", *lines])

    def move(self, name: str, number: float) -> None:
        """Move a slider. [unit of the row]

        Raises
        ------
        SitefareError
            If there is no such slider, or the number lies beyond its ends.
        """
        slider = self.sliders.get(name)
        if slider is None:
            msg = f"'{name}' has no slider here; those that do: {', '.join(self.sliders)}"
            raise SitefareError(msg)
        row = self.plan.case.rows[name]
        low, high = _ends(row)
        if not low <= number <= high:
            msg = f"{name}: {number:g} lies outside the slider, {low:g} to {high:g}"
            raise SitefareError(msg)
        end = low if number < row.base else high
        far = abs(end - row.base)
        slider.value = STEPS * (number - row.base) / far if far else 0.0

    def reset(self) -> None:
        """Put every slider back to the plan, in one step."""
        self._quiet = True
        try:
            for slider in self.sliders.values():
                slider.value = 0.0
        finally:
            self._quiet = False
        self._follow()

    def save(self) -> None:
        """Write what was moved as a scenario, and say where it is or why not."""
        try:
            path = save_scenario(self.plan.case, self.moved, self.name.value.strip())
        except (SitefareError, OSError) as error:
            self.said.value = str(Markup("<p>{}</p>").format(str(error)))
            return
        case = self.plan.case
        design = f" --design {case.design}" if case.design else ""
        command = f"sitefare propose {case.site}{design} --scenario {path.stem}"
        words = f"Saved as scenarios/{path.name}: {command}"
        self.said.value = str(Markup("<p>{}</p>").format(words))

    def _slider(self, row: Row) -> widgets.FloatSlider:
        """Make the slider of a row: whole steps to either end, the plan in the middle.

        A browser moves a slider to its nearest step; steps counted from the plan leave it there.
        """
        low, high = _ends(row)
        return widgets.FloatSlider(
            value=0.0,
            min=-STEPS if low < row.base else 0.0,
            max=STEPS if high > row.base else 0.0,
            step=1.0,
            readout=False,
            layout=widgets.Layout(width="95%"),
        )

    def _number(self, name: str) -> float:
        """Return where a row stands. [unit of the row]"""
        row, step = self.plan.case.rows[name], self.sliders[name].value
        low, high = _ends(row)
        end = low if step < 0.0 else high
        return end if abs(step) == STEPS else row.base + (end - row.base) * abs(step) / STEPS

    def _first_drawings(self) -> dict[str, dict[str, Any]]:
        """Draw both charts once; later moves only change their numbers."""
        return {
            "cash": cash_beside(self._cash_frame(), self.formats).narrow,
            "costs": costs_beside(self._cost_frame(), self.formats).narrow,
        }

    def _follow(self) -> None:
        """Appraise the plan as moved and show it."""
        if self._quiet:
            return
        values = moved_values(self.plan.case, [self.moved])
        self.now = appraise(self.plan, values)
        self._figures.value = self._table()
        cash, costs = self._cash_frame(), self._cost_frame()
        made = cash_beside(cash, self.formats)
        self._cash.outputs = shown(made, self._drawings["cash"], scaled(cash, self._divisor))
        self._costs.outputs = shown(
            costs_beside(costs, self.formats), self._drawings["costs"], costs
        )
        for name, label in self._labels.items():
            label.value = self._label(self.plan.case.rows[name])

    def _label(self, row: Row) -> str:
        """Name a row with where it stands and where it was planned."""
        currency, f = self.plan.case.currency, self.formats
        here, planned, low, high = (
            raised(row_value(row, x, currency, f))
            for x in (self._number(row.name), row.base, *_ends(row))
        )
        beside = f", planned {planned}" if here != planned else ""
        return str(LABEL.format(row_words(row), here, beside, low, high))

    def _table(self) -> str:
        """Return the key figures, as planned and as moved."""
        ration = self.base.fed.rations[self.base.fed.headline].title
        lines = [
            LINE.format(title, self._shown(self.base, key, how), self._shown(self.now, key, how))
            for key, title, how in FIGURES
        ]
        note = NOTE.format(ration, self.formats.currency)
        return str(Markup("<table>") + HEAD + Markup("").join(lines) + Markup("</table>") + note)

    def _shown(self, made: Appraisal, key: str, how: str) -> str:
        """Write one indicator, or its reason."""
        f = self.formats
        write = {"people": lambda x: f.number(x, 3), "amount": f.amount, "years": f.years}[how]
        return f.answer(float(made.indicators[key][0, 0]), write, made.reasons.get(key))

    def _cash_frame(self) -> pd.DataFrame:
        """Return cumulative cash by project year, planned and moved. [money]"""
        planned, moved = (m.finances.cumulative_real[0, ::12] for m in (self.base, self.now))
        return pd.DataFrame({"year": range(len(planned)), "planned": planned, "moved": moved})

    def _cost_frame(self) -> pd.DataFrame:
        """Return the parts of a person-day's cost, planned and moved. [money/person/day]"""
        planned, moved = person_day_parts(self.base), person_day_parts(self.now)
        frame = pd.DataFrame(
            [(k, planned.get(k, 0.0), moved.get(k, 0.0)) for k in self._parts],
            columns=["what", "planned", "moved"],
        )
        rest = {
            "what": ALL_ELSE,
            "planned": sum(planned.values()) - frame["planned"].sum(),
            "moved": sum(moved.values()) - frame["moved"].sum(),
        }
        return pd.concat([frame, pd.DataFrame([rest])], ignore_index=True)


def person_day_parts(made: Appraisal) -> Mapping[str, float]:
    """Return what a person-day's cost is made of, largest first; nothing where nobody is fed.

    Present value of each line of project cost over discounted person-days. [money/person/day]
    """
    if not np.isfinite(made.indicators["cost_per_person_day"][0, 0]):
        return {}
    parts: dict[str, float] = {}
    found = terms_of(made.finances, "cost_per_person_day")
    for name, term in found.terms.items():
        title = OTHER_COSTS.get(found.group[name]) or printed_line(name)
        parts[title] = parts.get(title, 0.0) + float(term[0, 0])
    return dict(sorted(parts.items(), key=lambda part: -part[1]))


def shown(picture: Picture, drawing: dict[str, Any], frame: pd.DataFrame) -> tuple[Any, ...]:
    """Return a drawing with other numbers in it, as the one output of an output widget.

    The browser draws it, so that a move costs the kernel no drawing.
    """
    spec = {**with_rows(drawing, frame, "planned"), "$schema": SCHEMA}
    spec["title"] = {"text": textwrap.wrap(picture.title, 46), "fontSize": 13}
    spec["usermeta"] = NO_MENU
    data = {VEGALITE: spec, "text/plain": picture.alt}
    return ({"output_type": "display_data", "data": data, "metadata": {}},)


def _widest(plan: Plan, indicator: str) -> list[Bar]:
    """Return the bars that move an indicator, widest first; none where it has no answer."""
    return [bar for bar in tornado(plan, indicator).bars if bar.width > 0]


def _ends(row: Row) -> tuple[float, float]:
    """Return a row's 1-in-10 low and high. [unit of the row]"""
    return float(row.low or 0.0), float(row.high or 0.0)


def _wrapping() -> widgets.Layout:
    """Let columns stand under each other where the window is narrow."""
    return widgets.Layout(flex_flow="row wrap")
