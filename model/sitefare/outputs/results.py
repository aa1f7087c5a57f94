"""How are results written, so that the same inputs give the same bytes?"""

import json
from pathlib import Path
from typing import Any

from sitefare.questions.reported import (
    PACKAGES,
    REPORTING,
    package_versions,
    results,
    rounded,
    unit_in,
)

__all__ = [
    "PACKAGES",
    "REPORTING",
    "as_json",
    "package_versions",
    "results",
    "rounded",
    "unit_in",
    "write_results",
]


def as_json(found: dict[str, Any]) -> str:
    """Write results as JSON text; a number that JSON lacks is an error, never written."""
    return json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def write_results(found: dict[str, Any], path: Path) -> None:
    """Write results.json."""
    path.write_text(as_json(found), encoding="utf-8", newline="\n")
