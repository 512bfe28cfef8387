#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Disks that are full, read-only or locked, and ports that can't be had."""

import random
import socket
import sqlite3
import subprocess
import time

import kit
import standin


class Trouble(kit.SiteTest):
    def udp_site(self, folder=None):
        self.udp = standin.free_port(socket.SOCK_DGRAM)
        site = self.make_site({"roof": f'source = "udp://127.0.0.1:{self.udp}"'}, folder)
        self.sender = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self.addCleanup(self.sender.close)
        return site

    def send(self, first, last):
        for seq in range(first, last + 1):
            self.sender.sendto(standin.report(1, seq), ("127.0.0.1", self.udp))
            if seq % 50 == 0:
                time.sleep(0.01)

    def small_disk(self, size):
        folder = self.folder / "disk"
        folder.mkdir()
        mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "none", folder],
                                 capture_output=True)
        if mounted.returncode:
            self.skipTest("this account may not mount a small disk to fill")
        self.addCleanup(lambda: subprocess.run(["umount", "-l", folder], check=True))
        return folder

    def test_a_full_disk_is_told_and_costs_nothing(self):
        disk = self.small_disk("3m")
        site = self.udp_site(disk / "site")
        listening = self.listen(site)
        listening.wait_told("roof: ")
        self.send(1, 100)
        standin.wait_for(lambda: len(self.stored(site)) == 100, what="the first hearings")
        ballast = disk / "ballast"
        with ballast.open("wb", buffering=0) as file:
            try:
                while file.write(b"x" * 4096):
                    pass
            except OSError:
                pass
        self.send(101, 3000)
        listening.wait_told("wait to be stored")
        ballast.unlink()
        listening.wait_told("stored again")
        standin.wait_for(lambda: len(self.stored(site)) == 3000, what="the rest")
        self.assertEqual(listening.end(), 0)
        self.assertEqual(set(self.stored(site).values()), {1})

    def test_a_disk_that_may_only_be_read_is_told_before_anything_is_accepted(self):
        disk = self.small_disk("30m")
        site = self.udp_site(disk / "site")
        subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
        listening = self.listen(site)
        self.assertEqual(listening.wait(), 3)
        self.assertTrue(listening.has_told("Read-only"), listening.told)
        subprocess.run(["mount", "-o", "remount,rw", disk], check=True)
        listening = self.listen(site)
        listening.wait_told("roof: ")
        self.send(1, 100)
        standin.wait_for(lambda: len(self.stored(site)) == 100, what="the hearings")
        self.assertEqual(listening.end(), 0)

    def test_a_site_that_may_not_be_written_is_refused_with_the_remedy(self):
        site = self.udp_site()
        (site / "fieldfare.db").mkdir()
        listening = self.listen(site)
        self.assertEqual(listening.wait(), 3)
        self.assertIn("fieldfare.db", "\n".join(listening.told))

    def test_a_store_locked_by_another_is_told_and_costs_nothing(self):
        site = self.udp_site()
        listening = self.listen(site)
        listening.wait_told("roof: ")
        self.send(1, 10)
        standin.wait_for(lambda: len(self.stored(site)) == 10, what="the first hearings")
        other = sqlite3.connect(site / "fieldfare.db", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        self.send(11, 500)
        listening.wait_told("wait to be stored")
        other.execute("ROLLBACK")
        other.close()
        listening.wait_told("stored again")
        standin.wait_for(lambda: len(self.stored(site)) == 500, what="the rest")
        self.assertEqual(listening.end(), 0)

    def test_a_port_that_is_not_there_is_waited_for(self):
        link = self.folder / "port"
        site = self.make_site({"office": f'source = "serial://{link}"'})
        listening = self.listen(site)
        listening.wait_told("office: ")
        self.assertNotIn("listening", listening.told[0])
        port = standin.SerialNode(link)
        standin.wait_for(lambda: len(listening.told) > 1, what="finding the port")
        port.send(standin.report(1, 1))
        standin.wait_for(lambda: len(self.stored(site)) == 1, what="the hearing")
        self.assertEqual(listening.end(), 0)

    def test_a_port_that_another_program_listens_to_is_told_as_busy(self):
        port = standin.SerialNode(self.folder / "port")
        first = self.listen(self.make_site({"office": f'source = "serial://{port.link}"'}))
        first.wait_told("office: ")
        other = self.make_site({"office": f'source = "serial://{port.link}"'}, self.folder / "other")
        second = self.listen(other)
        second.wait_told("office: ")
        self.assertRegex(second.told[0], "in use|busy|another program")

    def test_a_wrong_speed_is_suspected_from_garbage(self):
        port = standin.SerialNode(self.folder / "port")
        site = self.make_site({"office": f'source = "serial://{port.link}?baud=9600"'})
        listening = self.listen(site)
        listening.wait_told("office: ")
        dice = random.Random(9600)
        for _ in range(200):
            port.send(standin.noise(dice))
        listening.wait_told("9600 baud")
        self.assertEqual(listening.end(), 0)
        self.assertEqual(len(self.stored(site)), 0)


if __name__ == "__main__":
    kit.main()
