"""What harm could the farm do to people and land, how is it prevented, and by whom?"""

from sitefare.assumptions.declaration import choice, inputs, text


@inputs("screening", keyed=True, table=True)
class ScreeningInputs:
    """One question of the environmental and social screening."""

    title: str = text(doc="What is screened")
    question: str = text(doc="The harm to look for")
    figure: str = choice(
        "none", "water_makeup_m3_year", "discharge", "emissions_tco2e_year", "jobs_fte",
        doc="Figure of the model printed beside it",
    )  # fmt: skip
    rating: str = choice("low", "medium", "high", doc="Risk before any measure")
    measure: str = text(doc="What prevents or lessens it")
    who: str = text(doc="Who sees to it")
