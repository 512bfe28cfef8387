#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Writes log/week-10.csv.gz, what the receivers of Tarn Dairy heard in four days.

All of it is invented: nodes, addresses, figures, faults. The faults are planted
below, each beside the node that has it, so that it is known what the log should
tell. Nothing here is shared with the program that judges the log: this script
draws its own losses, clocks and signals.

The same bytes come out on every run: one seed, random.random() alone (whose
sequence Python guarantees), and a gzip header without time or name.

    python3 make_log.py           # writes the log
    python3 make_log.py --check   # says whether the log is what would be written
"""
import datetime
import gzip
import io
import math
import pathlib
import random
import sys

SEED = 20260302
START = datetime.datetime(2026, 3, 2, 6, 0, 0)
HOURS = 96
OUTPUT = pathlib.Path(__file__).parent / "log" / "week-10.csv.gz"
COLUMNS = ("time,node,receiver,seq,rssi_dbm,supply_v,temperature_c,humidity_pct,"
           "level_m,current_a,open_s").split(",")
MINUTE, HOUR = 60.0, 3600.0

rng = random.Random()  # seeded for each node in turn, by begin()


def at(day, hour, minute=0):
    """Seconds from the start of the log to a time of day in March 2026."""
    return (datetime.datetime(2026, 3, day, hour, minute) - START).total_seconds()


def gauss():
    """A standard normal draw (Box-Muller): random.gauss() may change with Python."""
    radius = math.sqrt(-2 * math.log(1 - rng.random()))
    return radius * math.cos(2 * math.pi * rng.random())


class Link:
    """From one node to one receiver: a mean signal that wanders, and losses that
    come in runs (a chain of a good and a bad state, one step a report)."""

    def __init__(self, rssi_dbm, loss, mean_run=1.3):
        self.rssi_dbm, self.wander = rssi_dbm, 0.0
        self.leave_bad = 1 / mean_run
        self.enter_bad = loss / (1 - loss) / mean_run
        self.bad = rng.random() < loss

    def hear(self):
        """The signal in dBm where this report is heard, None where it is lost."""
        self.wander = 0.98 * self.wander + 0.35 * gauss()
        rssi_dbm = round(self.rssi_dbm + self.wander + 1.2 * gauss())
        self.bad = rng.random() < (1 - self.leave_bad if self.bad else self.enter_bad)
        return None if self.bad else rssi_dbm


class Clock:
    """An interval off its nominal one by a share that stays, with jitter about
    the beat and a small random walk of the beat itself."""

    def __init__(self, interval_s, off, jitter_s=0.25, walk_s=0.05):
        self.interval_s, self.off = interval_s, off
        self.jitter_s, self.walk_s = jitter_s, walk_s

    def next_beat(self, beat):
        return beat + self.interval_s * (1 + self.off) + self.walk_s * gauss()

    def sent_at(self, beat):
        return beat + self.jitter_s * rng.random()


class Node:
    def __init__(self, address, bits, first, links, reading, supply_v=3.05):
        self.address, self.modulus = address, 1 << bits
        self.counter, self.links, self.reading = first, links, reading
        self.supply_v = supply_v

    def report(self, time_s, rows, fields=None):
        """Sends one report and appends what the receivers make of it."""
        supply = self.supply_v - 0.0006 * time_s / HOUR / 24 + 0.004 * gauss()
        fields = fields if fields is not None else self.reading(time_s)
        for receiver, link in self.links.items():
            rssi_dbm = link.hear()
            if rssi_dbm is None or is_deaf(receiver, time_s):
                continue
            row = {"time": time_s, "node": self.address, "receiver": receiver,
                   "seq": self.counter, "rssi_dbm": rssi_dbm, "supply_v": f"{supply:.2f}"}
            row.update(fields)
            rows.append(row)
            if rng.random() < 0.004:  # a lost acknowledgement: the node says it again
                rows.append(dict(row, time=time_s + 0.12 + 0.05 * rng.random()))
        self.counter = (self.counter + 1) % self.modulus


def is_deaf(receiver, time_s):
    """The receiver in the packing hall was off for five hours: its plug was
    wanted for a floor cleaner. All its nodes are silent together."""
    return receiver == "packing hall" and at(4, 13, 40) <= time_s < at(4, 18, 42)


def daily(mean, swing, time_s, noise):
    hour_of_day = time_s / HOUR + 6
    return mean + swing * math.sin(2 * math.pi * (hour_of_day - 9) / 24) + noise * gauss()


def air(mean_c, swing_c, humidity):
    return lambda t: {"temperature_c": f"{daily(mean_c, swing_c, t, 0.04):.2f}",
                      "humidity_pct": f"{min(99.0, daily(humidity, -1, t, 0.3)):.1f}"}


def surface(mean_c):
    return lambda t: {"temperature_c": f"{daily(mean_c, 0.2, t, 0.02):.2f}"}


def level(start_m, fall_m_per_day):
    return lambda t: {"level_m": f"{start_m - fall_m_per_day * t / HOUR / 24 + 0.002 * gauss():.3f}"}


def pump(t):
    running = (t / HOUR) % 3 < 0.75
    return {"current_a": f"{(6.4 if running else 0) + 0.05 * abs(gauss()):.2f}"}


def run_periodic(node, clock, rows, since=None, end=HOURS * HOUR, changes=(), resets=()):
    """Reports on a beat. `changes` are (time, interval) set by hand, `resets`
    times at which the counter begins again at 1 and the beat anew."""
    beat = rng.random() * clock.interval_s if since is None else since
    changes, resets = list(changes), list(resets)
    while beat < end:
        if changes and beat >= changes[0][0]:
            clock.interval_s = changes.pop(0)[1]
        if resets and beat >= resets[0]:
            beat = resets.pop(0) + 20 + 20 * rng.random()
            node.counter = 1
        node.report(clock.sent_at(beat), rows)
        beat = clock.next_beat(beat)


def run_door(node, clock, rows, opens_per_day, hours=(7, 18)):
    """A report when the door opens and one when it closes, which says how long it
    was open, and a sign of life on a beat."""
    events = []
    for day in range(HOURS // 24 + 1):
        for _ in range(opens_per_day):
            opened = (day * 24 + hours[0] - 6 + rng.random() * (hours[1] - hours[0])) * HOUR
            open_s = round(20 + 60 * rng.random())
            events += [(opened, 0), (opened + open_s, open_s)]
    beat = rng.random() * clock.interval_s
    while beat < HOURS * HOUR:
        events.append((clock.sent_at(beat), 0))
        beat = clock.next_beat(beat)
    for time_s, open_s in sorted(events):
        if time_s < HOURS * HOUR:
            node.report(time_s, rows, {"open_s": open_s})


def begin(tail):
    """The address of a node. Seeds the draws that follow, its links' and its
    reports', so that a change to one node leaves the others' rows as they are."""
    rng.seed(f"{SEED} {tail}")
    return "024D21000000" + tail


def ripening_caves(rows):
    office = "office"
    run_periodic(Node(begin("5CE7"), 8, 201, {office: Link(-78, 0.006)}, air(11.2, 0.3, 92)),
                 Clock(7 * MINUTE, 0.013), rows)
    run_periodic(Node(begin("5CEA"), 8, 44, {office: Link(-81, 0.01)}, air(11.4, 0.3, 91)),
                 Clock(7 * MINUTE, -0.021), rows)
    run_periodic(Node(begin("6108"), 16, 65310, {office: Link(-83, 0.008)}, surface(11.0)),
                 Clock(10 * MINUTE, 0.008), rows)
    # Somebody set this one to 5 min on the third day; its card still says 7 min.
    run_periodic(Node(begin("5D02"), 8, 12, {office: Link(-80, 0.008)}, air(10.8, 0.3, 93)),
                 Clock(7 * MINUTE, 0.017), rows, changes=[(at(4, 10, 12), 5 * MINUTE)])
    # New cells on the last afternoon: too few reports yet, and a few lost.
    run_periodic(Node(begin("5D1B"), 8, 1, {office: Link(-84, 0.07)}, air(10.9, 0.3, 93), 3.18),
                 Clock(7 * MINUTE, -0.009), rows, since=at(5, 22, 31))
    # A steel rack was pushed before this one: losses in long runs.
    run_periodic(Node(begin("610F"), 16, 2411, {office: Link(-93, 0.22, 4.0)}, surface(10.7)),
                 Clock(10 * MINUTE, -0.012), rows)
    # At the end of the deepest cave: nearly all is heard, with little to spare.
    run_periodic(Node(begin("5D33"), 8, 130, {office: Link(-99, 0.012)}, air(11.8, 0.2, 95)),
                 Clock(6 * MINUTE, 0.024), rows)


def brine_room(rows):
    run_periodic(Node(begin("6640"), 16, 30125, {"office": Link(-86, 0.02),
                                                   "packing hall": Link(-71, 0.006)},
                      level(1.62, 0.03), 3.58),
                 Clock(4 * MINUTE, 0.00002, 0.05, 0.002), rows)
    run_periodic(Node(begin("6811"), 16, 64870, {"packing hall": Link(-69, 0.007)}, pump),
                 Clock(2 * MINUTE, -0.00001, 0.05, 0.002), rows)


def cold_store_and_hall(rows):
    hall = "packing hall"
    # Cold cells sag under the pulse of a transmission: two resets on the coldest nights.
    run_periodic(Node(begin("5D40"), 8, 87, {hall: Link(-85, 0.012)}, air(3.1, 0.8, 84), 2.71),
                 Clock(5 * MINUTE, 0.031), rows,
                 resets=[at(3, 4, 17), at(5, 3, 52)])
    # Hardly ever opened, a sign of life each 6 h: few reports, so nothing is proven soon.
    run_door(Node(begin("6A03"), 8, 5, {hall: Link(-88, 0.01)}, None, 3.02),
             Clock(6 * HOUR, 0.02), rows, opens_per_day=1)
    run_door(Node(begin("6A04"), 8, 90, {hall: Link(-66, 0.006), "office": Link(-90, 0.03)},
                  None, 3.03),
             Clock(10 * MINUTE, -0.015), rows, opens_per_day=18)
    run_periodic(Node(begin("5D58"), 8, 250, {hall: Link(-61, 0.006), "office": Link(-92, 0.05)},
                      air(14.5, 1.8, 62)),
                 Clock(5 * MINUTE, 0.005), rows)


def slope_and_neighbour(rows):
    # Quiet since the evening of the fourth: the last thing heard was as good as ever.
    run_periodic(Node(begin("6652"), 16, 880, {"office": Link(-91, 0.012)}, level(2.1, 0.12), 3.57),
                 Clock(10 * MINUTE, -0.00003, 0.05, 0.002), rows, end=at(4, 20, 7))
    # On nobody's list: a node that speaks near by.
    run_periodic(Node(begin("773A"), 8, 17, {"office": Link(-95, 0.04)},
                      lambda t: {"temperature_c": f"{daily(6, 4, t, 0.1):.2f}"}, 2.96),
                 Clock(9 * MINUTE, 0.011), rows, since=at(3, 15, 3))


def as_text(row):
    moment = START + datetime.timedelta(milliseconds=round(row["time"] * 100) * 10)
    time = moment.strftime("%Y-%m-%dT%H:%M:%S.%f")[:-4] + "Z"
    return ",".join([time] + [str(row.get(column, "")) for column in COLUMNS[1:]])


def damage(lines):
    """A few rows as a full disk and a pulled plug leave them."""
    for share, spoil in ((0.11, lambda line: line[:31]),
                         (0.29, lambda line: line.replace("T", "T2", 1)),
                         (0.47, lambda line: line[:24] + line[line.index(",", 24):]),
                         (0.62, lambda line: "\x00" * 24),
                         (0.83, lambda line: line + ",7")):
        index = int(share * len(lines))
        lines[index] = spoil(lines[index])


def make_log():
    rows = []
    ripening_caves(rows)
    brine_room(rows)
    cold_store_and_hall(rows)
    slope_and_neighbour(rows)
    rows = sorted((row for row in rows if row["time"] < HOURS * HOUR),
                  key=lambda row: (row["time"], row["node"], row["receiver"]))
    lines = [as_text(row) for row in rows]
    damage(lines)
    text = "\r\n".join([",".join(COLUMNS)] + lines) + "\r\n"
    packed = io.BytesIO()
    with gzip.GzipFile(filename="", mode="wb", fileobj=packed, compresslevel=9, mtime=0) as out:
        out.write(text.encode("utf-8"))
    return packed.getvalue()


def main():
    log = make_log()
    if "--check" in sys.argv[1:]:
        same = OUTPUT.exists() and gzip.decompress(OUTPUT.read_bytes()) == gzip.decompress(log)
        print("same" if same else "differs")
        return 0 if same else 1
    OUTPUT.parent.mkdir(exist_ok=True)
    OUTPUT.write_bytes(log)
    return 0


if __name__ == "__main__":
    sys.exit(main())
