"""Reads an unpacked Duskline package with pandas and answers five questions about it.

    python3 read_package.py FOLDER [METRIC] [SITE]
"""

import glob
import json
import os
import sys

import pandas as pd

folder = sys.argv[1] if len(sys.argv) > 1 else "."


def read(name, **more):
    # Only an empty cell is missing: a site may be called NA.
    return pd.read_csv(os.path.join(folder, name), keep_default_na=False, na_values=[""], **more)


parts_of_file = sorted(glob.glob(os.path.join(folder, "observations.csv"))) + sorted(
    glob.glob(os.path.join(folder, "observations_[0-9]*.csv"))
)
observations = pd.concat(
    pd.read_csv(
        path,
        keep_default_na=False,
        na_values={"value": [""], "interval_s": [""], "n_samples": [""]},
        dtype={"part_id": str, "qc_tests_failed": str, "value": float, "interval_s": float},
    )
    for path in parts_of_file
)
for column in ("observed_at", "received_at"):
    observations[column] = pd.to_datetime(observations[column], utc=True)
metrics = read("metrics.csv")
sites = read("sites.csv")
parts = read("parts.csv", dtype={"part_id": str})
gaps = read("gaps.csv")
for column in ("from", "to"):
    gaps[column] = pd.to_datetime(gaps[column], utc=True)
with open(os.path.join(folder, "datapackage.json"), encoding="utf-8") as file:
    package = json.load(file)

metric = sys.argv[2] if len(sys.argv) > 2 else observations["metric"].iloc[0]
site = sys.argv[3] if len(sys.argv) > 3 else observations["site_id"].iloc[0]
here = sites[sites["site_id"] == site].iloc[0]
silent = gaps[gaps["site_id"] == site].sort_values("duration", ascending=False)
changed = parts[(parts["site_id"] == site) & (parts["removed_at"].notna())]

answers = {
    # 1 What unit is this?
    "unit": str(metrics.loc[metrics["metric"] == metric, "unit"].iloc[0]),
    # 2 What time zone?
    "time_zone_of_times": str(observations["observed_at"].dt.tz),
    "time_zone_of_site": str(here["time_zone"]),
    # 3 Why is it empty there? (the longest gap)
    "longest_gap": None
    if silent.empty
    else {
        "from": silent.iloc[0]["from"].strftime("%Y-%m-%dT%H:%M:%SZ"),
        "to": silent.iloc[0]["to"].strftime("%Y-%m-%dT%H:%M:%SZ"),
        "cause": silent.iloc[0]["cause"],
    },
    # 4 Was a sensor changed?
    "parts_changed": len(changed),
    # 5 May I publish the position?
    "position_blur_m": None if pd.isna(here["position_blur"]) else float(here["position_blur"]),
}
passed = observations[(observations["metric"] == metric) & (observations["qc_flag"] <= 2)]
print(
    json.dumps(
        {
            "rows": len(observations),
            "value_type": str(observations["value"].dtype),
            "time_type": str(observations["observed_at"].dtype),
            "sum": round(float(observations["value"].sum()), 6),
            "mean_of_metric": round(float(passed["value"].mean()), 6),
            "version": package["version"],
            "answers": answers,
        }
    )
)
