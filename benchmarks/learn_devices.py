#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""What the whole program learns of 500 made-up devices, of at most 40 frames each, and how long 10,000
frames take it, the start of the program and the reading of the log included.

FIELDFARE_LEARN_DEVICES: another number of devices.
"""

import os
import pathlib
import statistics
import sys
import time

ROOT = pathlib.Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "learn"))
os.environ.setdefault("FIELDFARE_PROGRAM", str(ROOT / "build" / "check" / "fieldfare"))

import sample as samples  # noqa: E402
import shares  # noqa: E402
import trial  # noqa: E402
from device import Device  # noqa: E402

DEVICES = int(os.environ.get("FIELDFARE_LEARN_DEVICES", "500"))
FRAMES = 10_000
FIRST_SEED = 1000  # others than those of the tests


def print_share(name, share):
    print(f"learn.{name} {share.right / max(1, share.of):.4f} share", flush=True)


def print_shares(kind, devices):
    found = shares.Shares(range(FIRST_SEED, FIRST_SEED + devices), kind)
    print("\n".join(found.lines()), file=sys.stderr)
    print(f"learn.{kind}-devices {devices} count")
    print_share(f"{kind}-right", found.core())
    print_share(f"{kind}-fields-right", found.fields())
    print_share(f"{kind}-scale-right", found.scales())
    print(f"learn.{kind}-falsely-certain-checks {len(found.falsely_certain())} count", flush=True)
    if kind == "binary":
        for part in ("framing", "check", "address", "counter"):
            print_share(f"{kind}-{part}-right", found.part(part))


def print_times(kind, repeats=3):
    """The slowest of a few kinds of device."""
    worst = 0
    for seed in range(FIRST_SEED, FIRST_SEED + 5):
        sample = samples.Sample(Device(seed, kind), frames=FRAMES)
        took = []
        for _ in range(repeats):
            begin = time.monotonic()
            trial.learn(sample)
            took.append(time.monotonic() - begin)
        worst = max(worst, statistics.median(took))
    print(f"learn.{kind}-10000-frames {worst:.2f} s", flush=True)


def main():
    for kind, devices in (("binary", DEVICES), ("text", DEVICES // 5), ("json", DEVICES // 5)):
        print_shares(kind, devices)
        print_times(kind)


main()
