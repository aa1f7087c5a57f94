"""Turn a place, a farm and sourced assumptions into a project appraisal.

Importing the package imports every module that declares inputs, so that a library is always
read against all declarations.
"""

from importlib.metadata import version

__version__ = version("sitefare")

from sitefare import sizing  # noqa: F401
from sitefare.assumptions import evidence, permits, proposer, screening, steps  # noqa: F401
from sitefare.farm import targets  # noqa: F401
from sitefare.people import lack, planning  # noqa: F401
from sitefare.questions import (  # noqa: F401
    chances,
    check_first,
    criteria,
    crop_mix,
    gates,
    need_score,
    reasonableness,
    results_frame,
    risk_register,
    routes,
    stress,
)
