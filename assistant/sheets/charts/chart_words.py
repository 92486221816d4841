"""Wordings of the figures, in the section `[chart]` of `sheets.toml`, with the values that each may use."""

from collections.abc import Mapping

_HEADS = (
    "batch day above up_to closed lot likely low high first_pour month batches dropped flour_kg scrap_kg "
    "portions judged checks checks_a_batch over over_pct hour acted asked not_understood left_alone noise "
    "ratio understood_pct"
)
"""Heads of the tables' columns."""

CHARTS: Mapping[str, str] = {
    **{f"chart.head.{one}": "" for one in _HEADS.split()},
    **{f"chart.axis.{one}": "" for one in ("hydration", "minutes", "hour", "noise")},
    "chart.likely": "hydration:number",
    "chart.first_pour": "hydration:number",
    "chart.lot.title": "lot:name flour:name batches:number",
    "chart.lot.range": "low_pct:number high_pct:number",
    **{f"chart.lot.{one}": "" for one in ("bars", "dots", "band")},
    "chart.lots.title": "",
    **{f"chart.lots.{one}": "" for one in ("bars", "dots", "ticks")},
    "chart.of_batch.title": "number:number lot:name",
    **{f"chart.of_batch.{one}": "hydration:number" for one in ("low", "target", "high")},
    **{f"chart.of_batch.{one}": "" for one in ("line", "signs", "strip", "mixing", "resting")},
    **{
        f"chart.year.{one}.{part}": ""
        for one in ("flour", "checks", "over")
        for part in ("title", "reads", "axis")
    },
    **{f"chart.heard.{one}": "" for one in ("title", "reads", "quiet")},
    **{f"chart.noise.{one}": "" for one in ("title", "reads")},
    "chart.ratio.under": "db:number",
    "chart.ratio.between": "low_db:number high_db:number",
    "chart.ratio.over": "db:number",
    "chart.ratio.unknown": "",
}
