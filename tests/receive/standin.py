# SPDX-License-Identifier: Apache-2.0
"""Stand-in nodes: they speak the frames of a sheet over pseudo-terminals and to a broker.

Framing and check are written here once more, from RFC 1662, and share nothing with the program.
"""

import os
import pathlib
import random
import socket
import struct
import subprocess
import threading
import time
import tty

import paho.mqtt.client as mqtt

SHEET = """
[sheet]
name = "stand-in"
kind = "node"
invented = true

[sequence]
bits = 32

[frame]
framing = "hdlc"
check = "crc-16/ibm-sdlc"

[[frame.field]]
name = "node"
type = "bytes8"
role = "address"

[[frame.field]]
name = "seq"
type = "u32be"
role = "sequence"

[[frame.field]]
name = "temperature_c"
type = "i16be"
scale = 0.01

[[frame.field]]
name = "rssi_dbm"
type = "i8"
role = "rssi"
"""


def address(number):
    """A locally administered EUI-64."""
    return f"024D2100{number:08X}"


def fcs16(octets):
    """FCS-16 bit by bit. Source: RFC 1662, appendix C.2: polynomial x^16 + x^12 + x^5 + 1."""
    fcs = 0xFFFF
    for octet in octets:
        for bit in range(8):
            lowest = (fcs ^ (octet >> bit)) & 1
            fcs = (fcs >> 1) ^ (0x8408 if lowest else 0)
    return fcs ^ 0xFFFF


def hdlc(body):
    """Flag, body, FCS low octet first, flag; flags and escapes within escaped (RFC 1662, 4.2)."""
    checked = body + struct.pack("<H", fcs16(body))
    escaped = b"".join(bytes([0x7D, o ^ 0x20]) if o in (0x7D, 0x7E) else bytes([o]) for o in checked)
    return b"\x7e" + escaped + b"\x7e"


def report(node, seq, temperature=21.39, level=-81):
    body = bytes.fromhex(address(node)) + struct.pack(">IhB", seq, round(temperature * 100), level & 0xFF)
    return hdlc(body)


def noise(dice, most=40):
    return bytes(dice.randrange(256) for _ in range(dice.randrange(1, most)))


class SerialNode:
    """A pseudo-terminal behind a name that stays, as a port's does."""

    def __init__(self, link):
        self.link = pathlib.Path(link)
        self.plug()

    def plug(self):
        self.master, self.slave = os.openpty()
        tty.setraw(self.slave)
        self.link.unlink(missing_ok=True)
        self.link.symlink_to(os.ttyname(self.slave))

    def unplug(self):
        self.link.unlink(missing_ok=True)
        os.close(self.slave)
        os.close(self.master)

    def send(self, octets):
        view = memoryview(octets)
        while view:
            view = view[os.write(self.master, view):]


def free_port(kind=socket.SOCK_STREAM):
    with socket.socket(socket.AF_INET, kind) as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_for(condition, seconds=60, what="the condition"):
    limit = time.monotonic() + seconds
    while not condition():
        if time.monotonic() > limit:
            raise AssertionError(f"{what} did not come about in {seconds} s")
        time.sleep(0.02)


class Broker:
    """mosquitto with persistence, on a port of its own."""

    def __init__(self, folder):
        self.port = free_port()
        self.folder = pathlib.Path(folder)
        (self.folder / "kept").mkdir()
        self.config = self.folder / "broker.conf"
        self.config.write_text(
            f"listener {self.port} 127.0.0.1\nallow_anonymous true\npersistence true\n"
            f"persistence_location {self.folder}/kept/\nmax_queued_messages 0\nmax_inflight_messages 0\n"
            "user root\nlog_dest none\n")
        self.process = None
        self.start()

    def start(self):
        self.process = subprocess.Popen(["mosquitto", "-c", self.config])
        wait_for(self.answers, what="the broker's start")

    def answers(self):
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def stop(self):
        """Ends it as a restart of its machine would: it writes down what it holds."""
        self.process.terminate()
        self.process.wait()


class Gateway:
    """Publishes at QoS 1 and sends again what the broker has not acknowledged."""

    def __init__(self, port, topic):
        self.topic = topic
        self.client = mqtt.Client(client_id="stand-in-gateway", clean_session=False)
        self.client.max_inflight_messages_set(2000)
        self.client.max_queued_messages_set(0)
        self.client.reconnect_delay_set(1, 1)
        self.count, self.acknowledged = 0, 0
        self.client.on_publish = self.note_acknowledgement
        self.client.connect("127.0.0.1", port)
        self.client.loop_start()

    def publish(self, payload):
        # While the broker is away the client keeps it, and sends it later.
        self.count += 1
        self.client.publish(self.topic, payload, qos=1)

    def note_acknowledgement(self, *_):
        self.acknowledged += 1

    def all_acknowledged(self):
        return self.acknowledged == self.count

    def stop(self):
        self.client.loop_stop()
        self.client.disconnect()


class Ticker(threading.Thread):
    """Calls `send(number)` for 1, 2, 3, ... at a rate, until told to stop."""

    def __init__(self, send, rate_per_s, seed=1):
        super().__init__(daemon=True)
        self.send, self.rate, self.dice = send, rate_per_s, random.Random(seed)
        self.count = 0
        self.ended = threading.Event()

    def run(self):
        begun = time.monotonic()
        while not self.ended.is_set():
            due = int((time.monotonic() - begun) * self.rate)
            while self.count < due and not self.ended.is_set():
                self.count += 1
                self.send(self.count)
            time.sleep(0.005)

    def stop(self):
        self.ended.set()
        self.join()
