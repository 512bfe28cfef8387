#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""The program is killed at random moments under load; a broker is restarted under load.

FIELDFARE_KILLS says how often (20 where it isn't given).
"""

import os
import random
import re
import signal
import time

import kit
import standin

KILLS = int(os.environ.get("FIELDFARE_KILLS", "20"))
RATE_PER_S = 1000


class Kills(kit.SiteTest):
    def test_what_was_acknowledged_is_stored_once_however_often_we_are_killed(self):
        broker = standin.Broker(self.folder)
        self.addCleanup(broker.stop)
        port = standin.SerialNode(self.folder / "port")
        log = self.folder / "log.csv"
        log.write_text("time,node,seq\n")
        site = self.make_site({
            "attic": f'source = "mqtt://127.0.0.1:{broker.port}/yard/%23"',
            "office": f'source = "serial://{port.link}"',
            "cellar": f'source = "file:{log}"\ncontent = "log"',
        })
        gateway = standin.Gateway(broker.port, "yard/attic")
        self.addCleanup(gateway.stop)
        # Once, so that the broker knows whom to hold messages for.
        first = self.listen(site)
        first.wait_told("attic: ")
        time.sleep(0.5)
        self.assertEqual(first.end(), 0)

        rows = log.open("a")
        self.addCleanup(rows.close)

        def send(seq):
            gateway.publish(standin.report(1, seq))
            rows.write(f"2026-03-02T11:00:00.{seq:06}Z,{standin.address(2)},{seq}\n")
            rows.flush()

        dice = random.Random(20260302)
        messages = standin.Ticker(send, RATE_PER_S)
        messages.start()
        shown = set()
        serial_seq = 0
        for _ in range(KILLS):
            listening = self.listen(site, "--show")
            listening.wait_told("office: ")
            until = time.monotonic() + dice.uniform(0.05, 0.6)
            while time.monotonic() < until:
                serial_seq += 1
                port.send(standin.report(3, serial_seq))
                time.sleep(0.001)
            listening.end(signal.SIGKILL)
            for line in listening.shown:
                match = re.search(r"  (node \d)  .*  no\. (\d+)", line)
                if match:
                    shown.add((match[1], int(match[2])))
        messages.stop()
        standin.wait_for(gateway.all_acknowledged, what="the broker's acknowledgements")
        last = self.listen(site)
        standin.wait_for(lambda: len(self.stored(site, "attic")) >= messages.count
                         and len(self.stored(site, "cellar")) >= messages.count,
                         seconds=120, what="catching up")
        time.sleep(1)
        self.assertEqual(last.end(), 0)

        wanted = set(range(1, messages.count + 1))
        by_broker = self.stored(site, "attic")
        self.assertEqual({seq for _, seq in by_broker}, wanted)
        self.assertEqual([pair for pair, times in by_broker.items() if times > 1], [])
        by_file = self.stored(site, "cellar")
        self.assertEqual({seq for _, seq in by_file}, wanted)
        self.assertEqual([pair for pair, times in by_file.items() if times > 1], [])
        by_port = self.stored(site, "office")
        self.assertEqual([pair for pair, times in by_port.items() if times > 1], [])
        self.assertGreater(len(shown), KILLS)
        self.assertEqual(shown - set(self.stored(site)), set(), "shown, but not in the store")

    def test_a_broker_restarted_under_load_costs_nothing_and_doubles_nothing(self):
        broker = standin.Broker(self.folder)
        self.addCleanup(lambda: broker.stop())
        site = self.make_site({"attic": f'source = "mqtt://127.0.0.1:{broker.port}/yard/%23"'})
        listening = self.listen(site)
        listening.wait_told("attic: ")
        time.sleep(0.5)
        gateway = standin.Gateway(broker.port, "yard/attic")
        self.addCleanup(gateway.stop)
        messages = standin.Ticker(lambda seq: gateway.publish(standin.report(1, seq)), RATE_PER_S)
        messages.start()
        for _ in range(2):
            time.sleep(1.5)
            told = len(listening.told)
            broker.stop()
            standin.wait_for(lambda: len(listening.told) > told, what="telling that the broker is gone")
            time.sleep(0.5)
            broker.start()
            standin.wait_for(lambda: len(listening.told) > told + 1, what="telling that it is back")
        time.sleep(1.5)
        messages.stop()
        standin.wait_for(gateway.all_acknowledged, 120, "the broker's acknowledgements")
        standin.wait_for(lambda: len(self.stored(site)) >= messages.count, 120, "storing")
        time.sleep(1)
        self.assertEqual(listening.end(), 0)
        stored = self.stored(site)
        self.assertEqual({seq for _, seq in stored}, set(range(1, messages.count + 1)))
        self.assertEqual([pair for pair, times in stored.items() if times > 1], [])


if __name__ == "__main__":
    kit.main()
