#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Every kind of source, with what happens to it in a yard."""

import json
import os
import random
import signal
import socket
import subprocess
import time

import kit
import standin


class Sources(kit.SiteTest):
    def test_frames_among_noise_from_a_serial_port_are_all_stored(self):
        port = standin.SerialNode(self.folder / "port")
        site = self.make_site({"office": f'source = "serial://{port.link}"'})
        listening = self.listen(site, "--json")
        listening.wait_told("office: ")
        dice, sent = random.Random(5), 0
        for seq in range(1, 501):
            if dice.random() < 0.2:
                port.send(b"\x7e" + standin.noise(dice) + b"\x7e")
            if dice.random() < 0.1:
                torn = standin.report(1, 1_000_000 + seq)
                port.send(torn[:dice.randrange(2, len(torn) - 3)] + b"\x7e")
            port.send(standin.report(1 + seq % 3, seq))
            sent += 1
        standin.wait_for(lambda: len(self.stored(site)) == sent, what="storing")
        self.assertEqual(listening.end(), 0)
        answer = listening.answer()
        ledger = answer["sources"][0]["run"]
        self.check_balance(ledger)
        self.assertEqual(ledger["reports"]["hearings"], sent)
        self.assertGreater(ledger["frames"]["unread_by_reason"]["bad-check"], 0)
        self.assertEqual(set(self.stored(site).values()), {1})
        kept = self.query(site, "SELECT count(*) FROM unread_frames WHERE reason = 'bad-check'")[0][0]
        self.assertGreater(kept, 0)

    def test_a_port_that_vanishes_and_comes_back_is_listened_to_again(self):
        port = standin.SerialNode(self.folder / "port")
        site = self.make_site({"office": f'source = "serial://{port.link}"'})
        listening = self.listen(site)
        listening.wait_told("office: ")
        port.send(standin.report(1, 1))
        standin.wait_for(lambda: len(self.stored(site)) == 1, what="the first hearing")
        told = len(listening.told)
        port.unplug()
        standin.wait_for(lambda: len(listening.told) > told, what="telling that the port is gone")
        told = len(listening.told)
        port.plug()
        standin.wait_for(lambda: len(listening.told) > told, what="telling that it is back")
        port.send(standin.report(1, 2))
        standin.wait_for(lambda: len(self.stored(site)) == 2, what="the second hearing")
        self.assertEqual(listening.end(), 0)
        self.assertGreaterEqual(len(self.query(site, "SELECT * FROM listening_times")), 2)

    def test_the_same_report_by_datagram_and_row_and_message_is_read_alike(self):
        broker = standin.Broker(self.folder)
        self.addCleanup(broker.stop)
        udp = standin.free_port(socket.SOCK_DGRAM)
        log = self.folder / "log.csv"
        log.write_text("time,node,seq,temperature_c\n")
        site = self.make_site({
            "roof": f'source = "udp://127.0.0.1:{udp}"',
            "attic": f'source = "mqtt://127.0.0.1:{broker.port}/yard/%23"',
            "cellar": f'source = "file:{log}"\ncontent = "log"',
        })
        listening = self.listen(site)
        for receiver in ("roof", "attic", "cellar"):
            listening.wait_told(receiver + ": ")
        gateway = standin.Gateway(broker.port, "yard/attic")
        self.addCleanup(gateway.stop)
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender, log.open("a") as rows:
            for seq in range(1, 51):
                sender.sendto(standin.report(1, seq), ("127.0.0.1", udp))
                gateway.publish(standin.report(1, seq))
                rows.write(f"2026-03-02T11:{seq:02}:00Z,{standin.address(1)},{seq},21.39\n")
                rows.flush()
        for receiver in ("roof", "attic", "cellar"):
            standin.wait_for(lambda: len(self.stored(site, receiver)) == 50, what=receiver)
        self.assertEqual(listening.end(), 0)
        readings = self.query(site, "SELECT DISTINCT temperature_c FROM readings_stand_in")
        self.assertEqual(readings, [(21.39,)])
        self.assertEqual(set(self.stored(site).values()), {3})

    def test_standard_input_ends_the_listening_when_it_ends(self):
        site = self.make_site({"r1": 'source = "pipe:-"'})
        frames = b"".join(standin.report(2, seq) for seq in range(1, 101))
        ended = subprocess.run([kit.PROGRAM, "listen", str(site), "--json"], input=frames,
                               capture_output=True, timeout=60)
        self.assertEqual(ended.returncode, 0, ended.stderr)
        self.assertEqual(json.loads(ended.stdout)["stored"], 100)

    def test_show_prints_hearings_once_they_are_stored(self):
        port = standin.SerialNode(self.folder / "port")
        site = self.make_site({"office": f'source = "serial://{port.link}"'})
        listening = self.listen(site, "--show")
        listening.wait_told("office: ")
        for seq in range(1, 21):
            port.send(standin.report(3, seq, 4.5, -70))
        standin.wait_for(lambda: len(listening.shown) >= 20, what="showing")
        self.assertEqual(len(self.stored(site)), 20)
        self.assertIn("node 3", listening.shown[0])
        self.assertIn("temperature_c 4.5", listening.shown[0])
        self.assertIn("-70 dBm", listening.shown[0])
        self.assertEqual(listening.end(), 0)

    def test_a_second_listener_of_a_site_is_refused(self):
        udp = standin.free_port(socket.SOCK_DGRAM)
        site = self.make_site({"roof": f'source = "udp://127.0.0.1:{udp}"'})
        first = self.listen(site)
        first.wait_told("roof: ")
        second = self.listen(site)
        self.assertEqual(second.wait(), 3)
        self.assertTrue(second.has_told("listening for this site already"))

    def test_a_stopped_machine_is_our_deafness_and_no_ones_silence(self):
        udp = standin.free_port(socket.SOCK_DGRAM)
        site = self.make_site({"roof": f'source = "udp://127.0.0.1:{udp}"'})
        listening = self.listen(site)
        listening.wait_told("roof: ")
        os.kill(listening.process.pid, signal.SIGSTOP)
        time.sleep(7)
        os.kill(listening.process.pid, signal.SIGCONT)
        listening.wait_told("slept")
        self.assertEqual(listening.end(), 0)
        self.assertEqual(len(self.query(site, "SELECT * FROM listening_times")), 2)


if __name__ == "__main__":
    kit.main()
