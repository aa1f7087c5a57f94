"""What do the files of a comparison hold, beside its document?

`comparison.json` holds what was found with every alternative's results; `comparison.csv` and
`comparison.parquet` one row an alternative, every indicator with its range, in local money and in
US dollars.
"""

import io
import math
from pathlib import Path
from typing import Any

import pandas as pd

from sitefare.outputs.comparison.seen import Seen
from sitefare.questions.figures import COMPARED, is_money
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.lines import Line


def numbers(seen: Seen) -> dict[str, Any]:
    """Return what comparison.json holds, as plain values."""
    raise NotImplementedError


def frame(seen: Seen) -> pd.DataFrame:
    """Return one row an alternative, in order; those refused last, with the reason."""
    raise NotImplementedError
