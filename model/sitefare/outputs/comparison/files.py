"""What do the files of a comparison hold, beside its document?

`comparison.json` holds what was found with every alternative's results; `comparison.csv` and
`comparison.parquet` one row an alternative, every figure with its range, in local money and in US
dollars.
"""

import io
import math
from pathlib import Path
from typing import Any

import pandas as pd

from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.results import rounded
from sitefare.outputs.stored import written_whole
from sitefare.questions.alternatives import Alternative
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.figures import COMPARED, figure, is_money
from sitefare.questions.lines import Line
from sitefare.questions.turning import Against
from sitefare.questions.weighing import Change


def numbers_of(seen: Seen) -> dict[str, Any]:
    """Return what comparison.json holds, as plain values: ten significant digits."""
    compared, regrets = seen.compared, seen.regrets
    return {
        "schema_version": "2",
        "by": compared.by,
        "unit": figure(compared.by).unit.replace("money", "USD"),
        "ration": seen.ration,
        "draws": compared.draws,
        "seed": compared.seed,
        "order": [_place(seen, line) for line in compared.lines],
        "refused": dict(compared.refused),
        "regret": {
            "least_mean": regrets.least_mean.name if regrets.least_mean else None,
            "least_in_nine_of_ten": regrets.least_high.name if regrets.least_high else None,
            "least_worst": regrets.least_worst.name if regrets.least_worst else None,
        },
        "turning": [_against(one) for one in seen.turned],
        "criteria": _criteria(seen),
        "alternatives": {line.name: line.results for line in compared.lines},
    }


def _against(one: Against) -> dict[str, Any]:
    """Return what would put one alternative before the first."""
    return {
        "first": one.first.name,
        "other": one.other.name,
        "rows": one.many,
        "closest": one.closest.name if one.closest else None,
        "gap_closed": number(one.closed),
        "turns": [
            {
                "row": turn.row.name,
                "unit": turn.row.spec.unit,
                "base": number(turn.row.base),
                "value": number(turn.value),
                "shared": turn.shared,
                "other_value": number(turn.other_value),
                "beyond": number(turn.beyond),
                "jump": turn.jump,
            }
            for turn in one.turns
        ],
    }


def _criteria(seen: Seen) -> list[dict[str, Any]]:
    """Return the criteria of the score with their weights, ends and where the first changes."""
    if isinstance(seen.weighed, str):
        return []
    return [
        {
            "key": one.scale.criterion.key,
            "figure": one.scale.criterion.figure,
            "share_of_weight": number(one.scale.share),
            "worst": number(one.scale.worst),
            "best": number(one.scale.best),
            "below": _change(one.below),
            "above": _change(one.above),
        }
        for one in seen.weighed.thresholds
    ]


def _change(change: Change | None) -> dict[str, Any] | None:
    """Return a weight beyond which another comes first."""
    if change is None:
        return None
    return {"share_of_weight": number(change.share), "first": change.line.name}


def _place(seen: Seen, line: Line) -> dict[str, Any]:
    """Return where one alternative stands, by every question asked."""
    return {
        "alternative": line.name,
        "title": seen.name(line),
        **asked_of(line.alternative),
        **standing(seen, line),
        "gates": {gate.title: gate.state for gate in line.gates},
        "need": None
        if line.need is None
        else {"score": line.need.score, "scale": line.need.scale, "source": line.need.source},
    }


def asked_of(one: Alternative) -> dict[str, Any]:
    """Return what was asked of an alternative."""
    return {
        "site": one.site,
        "design": one.design,
        "scenario": one.scenario,
        "settings": list(one.settings),
    }


def standing(seen: Seen, line: Line) -> dict[str, Any]:
    """Return an alternative's rank, chances, regret, edge and score as plain numbers."""
    found = seen.by_name.get(line.name, {})
    ranked, edge = found.get("ranked"), found.get("edge")
    regret, score = found.get("regret"), found.get("score")
    drawn = seen.compared.draws > 0
    return {
        "rank": line.rank or None,
        "value": number(line.usd(seen.compared.by)),
        "chance_best": number(ranked.chance_best) if ranked else None,
        "chance_first_three": number(ranked.chance_first_three) if ranked else None,
        "mean_rank": number(ranked.mean_rank) if ranked else None,
        "regret_mean": number(regret.mean) if regret and drawn else None,
        "regret_p90": number(regret.high) if regret and drawn else None,
        "regret_worst": number(regret.worst) if regret and drawn else None,
        "on_edge": edge.on_edge if edge else None,
        "chance_on_edge": number(edge.chance) if edge else None,
        "behind": [one.name for one in edge.by] if edge else [],
        "score": number(score.score) if score else None,
        "score_first_by_weights": number(score.weights_first) if score else None,
        "score_first_in_draws": number(score.chance_first) if score else None,
        "facts_supplied": line.facts[0],
        "facts_asked": line.facts[1],
    }


def number(x: float | None) -> float | None:
    """Return a number with ten significant digits; None where it is none or has no end."""
    return None if x is None or not math.isfinite(x) else rounded(float(x))


def frame_of(seen: Seen) -> pd.DataFrame:
    """Return one row an alternative, in order; those refused last, with the reason."""
    rows = [_row(seen, line) for line in seen.compared.lines]
    rows += [
        {"alternative": name, "status": "refused", "reason": why}
        for name, why in seen.compared.refused.items()
    ]
    return pd.DataFrame(rows)


def _row(seen: Seen, line: Line) -> dict[str, Any]:
    """Return one alternative's row: what it is, where it stands, every figure with its range."""
    asked, stands = asked_of(line.alternative), standing(seen, line)
    row: dict[str, Any] = {
        "alternative": line.name,
        "title": seen.name(line),
        "status": "ranked" if line.rank else "gate shut",
        "reason": "; ".join(gate.title for gate in line.shut),
        **asked,
        "settings": "; ".join(asked["settings"]),
        "place": line.place,
        "currency": line.currency,
        "exchange_rate": line.exchange_rate,
        "appraisal_date": line.date,
        "ration": line.ration,
        "bed_area_m2": line.results["case"].get("bed_area_m2"),
        **stands,
        "behind": "; ".join(stands["behind"]),
        "need_score": line.need.score if line.need else None,
        "need_source": line.need.source if line.need else "",
        "input_hash": line.input_hash,
    }
    for name in (*COMPARED, *INDICATORS):
        row |= _figures(line, name)
    return row


def _figures(line: Line, name: str) -> dict[str, float | None]:
    """Return one figure with its range, in local money and in US dollars."""
    spread = line.spreads.get(name)
    ends = {
        "": line.values.get(name),  # noqa: PD011 no frame
        "_low": spread.low if spread else None,
        "_high": spread.high if spread else None,
    }
    local = {f"{name}{end}": number(x) for end, x in ends.items()}
    if not is_money(name):
        return local
    rate = line.exchange_rate
    return local | {
        f"{name}{end}_usd": None if x is None else number(x / rate) for end, x in ends.items()
    }


def write_frame(frame: pd.DataFrame, folder: Path) -> list[Path]:
    """Write a table as comparison.csv, for a spreadsheet, and comparison.parquet."""
    sheet, columns = folder / "comparison.csv", folder / "comparison.parquet"
    made = io.StringIO()
    frame.to_csv(made, index=False, lineterminator="\n")
    written_whole(sheet, made.getvalue().encode("utf-8-sig"))
    table = io.BytesIO()
    frame.to_parquet(table, index=False)
    written_whole(columns, table.getvalue())
    return [sheet, columns]
