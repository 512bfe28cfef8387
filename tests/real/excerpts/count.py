#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Counts what is in the excerpts, knowing nothing of the program.

    count.py            writes known_answers.csv
    count.py --check    exits 1 where known_answers.csv is not what would be written

jsi-unb-868 has the list of packets sent: heard, missed and runs of losses are counted
there. microclimate-solar-wsn has none; its numbers run from the first to the last.
"""
import csv
import pathlib
import sys
from datetime import datetime

HERE = pathlib.Path(__file__).resolve().parent
TABLE = HERE / "known_answers.csv"
COLUMNS = "rows heard sent missed loss_runs longest_gap_s span_s below_highest".split()


def rows_of(name):
    with open(HERE / name, newline="") as file:
        return list(csv.DictReader(file))


def of_log(log):
    heard = sorted((datetime.fromisoformat(row["time"][:-1]), int(row["seq"])) for row in log)
    times = [time for time, _ in heard]
    numbers = [number for _, number in heard]
    gaps = [(after - before).total_seconds() for before, after in zip(times, times[1:])]
    return {
        "rows": len(log),
        "heard": len(set(numbers)),
        "longest_gap_s": int(max(gaps)),
        "span_s": int((times[-1] - times[0]).total_seconds()),
        "below_highest": sum(number < max(numbers[:i]) for i, number in enumerate(numbers) if i),
    }


def narrowband():
    count = of_log(rows_of("jsi-unb-868/log.csv"))
    received = [row["received"] == "1" for row in rows_of("jsi-unb-868/sent.csv")]
    assert count["heard"] == sum(received), "log and list of packets sent disagree"
    count["sent"] = len(received)
    count["missed"] = received.count(False)
    count["loss_runs"] = sum(now < before for before, now in zip(received, received[1:]))
    return count


def microclimate():
    log = rows_of("microclimate-solar-wsn/log.csv")
    numbers = {int(row["seq"]) for row in log}
    count = of_log(log)
    count["sent"] = max(numbers) - min(numbers) + 1
    count["missed"] = count["sent"] - len(numbers)
    count["loss_runs"] = sum(n + 1 not in numbers for n in numbers) - 1
    return count


def table():
    lines = ["set," + ",".join(COLUMNS)]
    for name, count in (("jsi-unb-868", narrowband()), ("microclimate-solar-wsn", microclimate())):
        lines.append(",".join([name] + [str(count[column]) for column in COLUMNS]))
    return "\n".join(lines) + "\n"


def main():
    if sys.argv[1:] != ["--check"]:
        TABLE.write_text(table())
    elif TABLE.read_text() != table():
        sys.exit(f"{TABLE} is not what count.py counts; run it and look at what changed")


if __name__ == "__main__":
    main()
