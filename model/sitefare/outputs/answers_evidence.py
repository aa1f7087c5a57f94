"""What the commands on evidence print as JSON."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from sitefare.questions.check_first import CheckList
from sitefare.questions.influence import Influence, Shares
from sitefare.questions.which_site import SiteChoice


def influence_json(found: Influence) -> dict[str, Any]:
    """Return the shares of an indicator's spread as plain values."""
    return {
        "indicator": found.indicator,
        "scale": found.scale.words,
        "draws": found.draws,
        "groups": _shares(found.groups),
        "rows": _shares(found.rows),
        "left": found.left,
    }


def checks_json(found: CheckList, currency: str) -> dict[str, Any]:
    """Return the checks of a site in order as plain values."""
    checks = [
        {
            "title": check.title,
            "rows": [row.name for row in check.rows],
            "bases": list(check.bases),
            "cost": check.cost,
            "weeks": check.weeks,
            "share": check.share,
            "share_without_support": check.soft,
            "share_error": check.error,
            "worth": asdict(check.worth),
            "net": check.net,
        }
        for check in found.checks
    ]
    return {
        "currency": currency,
        "payoff": found.stake.payoff,
        "decides": found.decides,
        "worth_of_everything": asdict(found.everything),
        "by_level": [{"level": level, **asdict(worth)} for level, worth in found.by_level],
        "checks": checks,
    }


def choice_json(found: SiteChoice) -> dict[str, Any]:
    """Return the worth of knowing before a site is chosen as plain values."""
    sites = zip(found.sites, found.means, found.best_in, strict=True)
    return {
        "currency": "USD",
        "sites": [{"site": s, "mean": mean, "best_in": best} for s, mean, best in sites],
        "one_of_them_or_none": asdict(found.or_none),
        "one_of_them": asdict(found.one_of),
        "groups": [{"group": name, **asdict(worth)} for name, worth in found.parts],
    }


def _shares(lines: Sequence[Shares]) -> list[dict[str, Any]]:
    """Return shares as plain values."""
    return [asdict(line) for line in lines]
