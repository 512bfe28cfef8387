#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""From a serial port and a broker to committed, by the whole program: hearings a second, and how long
each took at a steady 1,000 a second. Baseline: what carries the same bytes and does nothing with them.

The broker and the publisher share the machine's cores with the program: its figure is a lower bound.
"""

import os
import pathlib
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "receive"))
os.environ["FIELDFARE_PROGRAM"] = str(ROOT / "build" / "check" / "fieldfare")

import kit  # noqa: E402
import standin  # noqa: E402

FRAMES = 500_000
MESSAGES = 50_000  # a publisher has 65,535 numbers for messages under way
STEADY_S = 20


class Bench(kit.SiteTest):
    def runTest(self):
        pass

    def through_a_port(self, frames):
        port = standin.SerialNode(self.folder / "port")
        site = self.make_site({"office": f'source = "serial://{port.link}"'})
        listening = self.listen(site, "--json")
        listening.wait_told("office: ")
        begin = time.monotonic()
        port.send(frames)
        standin.wait_for(lambda: self.query(site, "SELECT count(*) FROM hearing")[0][0] >= FRAMES, 300)
        took = time.monotonic() - begin
        listening.end()
        return FRAMES / took, listening.answer()

    def port_alone(self, frames):
        port = standin.SerialNode(self.folder / "bare")
        begin = time.monotonic()
        reader = subprocess.Popen(["head", "-c", str(len(frames)), port.link], stdout=subprocess.DEVNULL)
        port.send(frames)
        reader.wait()
        return FRAMES / (time.monotonic() - begin)

    def through_a_broker(self):
        """Messages that wait at the broker for a listener that was there before."""
        broker = standin.Broker(self.folder)
        self.addCleanup(broker.stop)
        site = self.make_site({"attic": f'source = "mqtt://127.0.0.1:{broker.port}/yard/%23"'},
                              self.folder / "broker-site")
        first = self.listen(site)
        first.wait_told("attic: ")
        time.sleep(0.5)
        first.end()
        gateway = standin.Gateway(broker.port, "yard/attic")
        for seq in range(MESSAGES):
            gateway.publish(standin.report(1 + seq % 3, seq))
        standin.wait_for(gateway.all_acknowledged, 300)
        gateway.stop()
        listening = self.listen(site, "--json")
        listening.wait_told("attic: ")
        begin = time.monotonic()
        standin.wait_for(lambda: self.query(site, "SELECT count(*) FROM hearing")[0][0] >= MESSAGES, 300)
        took = time.monotonic() - begin
        listening.end()
        return MESSAGES / took

    def steadily(self):
        port = standin.SerialNode(self.folder / "steady")
        site = self.make_site({"office": f'source = "serial://{port.link}"'}, self.folder / "steady-site")
        listening = self.listen(site, "--json")
        listening.wait_told("office: ")
        ticker = standin.Ticker(lambda seq: port.send(standin.report(1 + seq % 3, seq)), 1000)
        ticker.start()
        time.sleep(STEADY_S)
        ticker.stop()
        time.sleep(0.5)
        listening.end()
        return listening.answer()["heard_to_stored"]


def main():
    frames = b"".join(standin.report(1 + seq % 3, seq) for seq in range(FRAMES))
    bench = Bench()
    bench.setUp()
    try:
        rate, answer = bench.through_a_port(frames)
        bare = bench.port_alone(frames)
        print(f"receive.serial-to-committed {rate:.0f} hearings/s")
        print(f"receive.serial-alone {bare:.0f} frames/s")
        print(f"ratio receive.serial-of-the-port-alone {rate / bare:.3f}")
        print(f"receive.serial-flood-p99 {answer['heard_to_stored']['p99_ms']:.0f} ms")
        print(f"receive.broker-to-committed {bench.through_a_broker():.0f} hearings/s")
        steady = bench.steadily()
        print(f"receive.at-1000-a-second-median {steady['median_ms']:.0f} ms")
        print(f"receive.at-1000-a-second-p99 {steady['p99_ms']:.0f} ms")
    finally:
        bench.doCleanups()


main()
