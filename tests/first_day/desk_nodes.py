# SPDX-License-Identifier: Apache-2.0
"""Five stand-in nodes on a desk, and the receiver that hands on what it hears of them. All invented.

A frame: address (8 octets), counter (16 bits), number of the network (16 bits), temperature (16 bits, a
hundredth of a degree), and the level at which the receiver heard it, which the receiver puts behind (one
octet, dBm); CRC-16/IBM-SDLC and HDLC-like framing. The newcomer is told none of it.
"""

import os
import pathlib
import random
import struct
import sys
import threading
import time
import tty

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "learn"))

import checks  # noqa: E402
import framers  # noqa: E402

OURS, FOREIGN = 0x1A2C, 0x2B1F  # networks
FIRST_COUNT = 1
CRC = checks.Check("crc-16/ibm-sdlc")


class Port:
    """A pseudo-terminal that the receiver hangs on. Keeps all that went through it."""

    def __init__(self):
        self.master, self.slave = os.openpty()
        tty.setraw(self.slave)
        self.name = os.ttyname(self.slave)
        self.sent, self.lock = [], threading.Lock()
        self.is_plugged = True

    def send(self, octets):
        with self.lock:
            if not self.is_plugged:
                return
            self.sent.append((time.monotonic(), octets))
            view = memoryview(octets)
            while view:
                view = view[os.write(self.master, view):]

    def sent_until(self, moment):
        with self.lock:
            return b"".join(octets for at, octets in self.sent if at <= moment)

    def unplug(self):
        with self.lock:
            if self.is_plugged:
                os.close(self.slave)
                os.close(self.master)
            self.is_plugged = False


class Node:
    """`label`: what stands on its case. It has been running for a while when the day begins."""

    def __init__(self, address, label=None, level=-48, network=OURS, damage=0.0, count=100, interval_s=2.0):
        self.address, self.label = address, label or address[-4:]
        self.level, self.network, self.damage, self.count = level, network, damage, count
        self.interval_s = interval_s
        self.dice = random.Random(address)
        self.temperature = 21.4 + self.dice.uniform(-0.6, 0.6)
        self.reports = 0  # of which a listener can read all that it says
        self.restarted = False

    def frame(self):
        self.temperature += self.dice.gauss(0, 0.02)
        level = round(self.level + self.dice.gauss(0, 1.5))
        body = bytes.fromhex(self.address) + struct.pack(">HHhb", self.count, self.network,
                                                         round(self.temperature * 100), level)
        self.count = (self.count + 1) & 0xFFFF
        return framers.hdlc(body + checks.as_sent(CRC, body))

    def report(self, port, provoked=False):
        octets = self.frame()
        if not provoked and self.dice.random() < self.damage:
            at = self.dice.randrange(2, len(octets) - 2)
            octets = octets[:at] + bytes([octets[at] ^ 0x04]) + octets[at + 1:]
        else:
            self.reports += 1
        port.send(octets)

    def restart(self, port):
        """What the button does."""
        self.count = FIRST_COUNT
        self.report(port, provoked=True)
        self.restarted = True


class MuteNode(Node):
    def report(self, port, provoked=False):
        pass


class Desk(threading.Thread):
    """Lets the nodes report, each on its own beat."""

    def __init__(self, port, nodes):
        super().__init__(daemon=True)
        self.port, self.nodes = port, nodes
        self.lock, self.ended = threading.Lock(), threading.Event()

    def run(self):
        due = {node: time.monotonic() + 0.3 * number for number, node in enumerate(self.nodes)}
        while not self.ended.wait(0.02):
            now = time.monotonic()
            with self.lock:
                for node in self.nodes:
                    if node.restarted:
                        due[node], node.restarted = now + node.interval_s, False
                    elif due[node] <= now:
                        node.report(self.port)
                        due[node] += node.interval_s

    def press_button_of(self, node):
        with self.lock:
            node.restart(self.port)

    def stop(self):
        self.ended.set()
        self.join(10)
