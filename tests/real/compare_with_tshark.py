#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Lets tshark and the program read the same captures, and compares what they count.

    compare_with_tshark.py build/dev/fieldfare

Compared are frames, frames whose check is right, and frames by sender. The
captures are those of the data folder (see SOURCE.md), where there is one, and
small ones, invented, that are written here: each link type, pcapng, nanoseconds.
"""
import collections
import json
import lzma
import os
import pathlib
import shutil
import struct
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
DATA = pathlib.Path(os.environ.get("FIELDFARE_DATA", ROOT / ".." / "shared" / "data"))
FIELDS = ["frame.number", "wpan.fcs_ok", "wpan.frame_type", "wpan.src_pan", "wpan.dst_pan",
          "wpan.src16", "wpan.src64", "wpan-tap.rss"]
# Frames so damaged that readers may differ about their header make senders of one or two.
FEW = 5


def crc16(octets):
    register = 0
    for octet in octets:
        register ^= octet
        for _ in range(8):
            register = register >> 1 ^ 0x8408 if register & 1 else register >> 1
    return register


def with_fcs(frame):
    return frame + struct.pack("<H", crc16(frame))


def short(version, number, compressed=True, pan=0x1234, source=0xB0B1):
    control = 0x8801 | version << 12 | (0x40 if compressed else 0)
    own = b"" if compressed else struct.pack("<H", pan + 1)
    return (struct.pack("<HBHH", control, number, pan, 1) + own + struct.pack("<H", source)
            + b"\1\2\3\4")


def extended(version, number, compressed=True):
    control = 0xC801 | version << 12 | (0x40 if compressed else 0)
    own = b"" if compressed else struct.pack("<H", 0x0077)
    return (struct.pack("<HBHH", control, number, 0x1234, 1) + own
            + struct.pack("<Q", 0x02B00000000000B1) + b"\1\2\3\4")


def frames():
    result = []
    for number in range(10):
        result += [short(version, number) for version in (0, 1, 2)]
        result += [short(version, number, False) for version in (0, 1, 2)]
        result += [extended(version, number) for version in (0, 1)]
        result += [extended(version, number, False) for version in (0, 1, 2)]
        result += [b"\2\0" + bytes([number])]  # acknowledgement
    return result


def damage(frame):
    return frame[:-3] + bytes([frame[-3] ^ 0x20]) + frame[-2:]


def checked():
    return [damage(with_fcs(f)) if i % 7 == 3 else with_fcs(f) for i, f in enumerate(frames())]


def metadata(frame, fcs_type, dbm):
    tlvs = (struct.pack("<HHI", 0, 1, fcs_type) + struct.pack("<HHf", 1, 4, dbm)
            + struct.pack("<HHHBx", 3, 3, 20, 0) + struct.pack("<HHI", 10, 1, 200))
    return struct.pack("<BxH", 0, 4 + len(tlvs)) + tlvs + frame


def pcap(link_type, packets, nanoseconds=False, order="<"):
    magic = 0xA1B23C4D if nanoseconds else 0xA1B2C3D4
    out = struct.pack(order + "IHHiIII", magic, 2, 4, 0, 0, 65535, link_type)
    for i, packet in enumerate(packets):
        out += struct.pack(order + "IIII", 1772431200 + i, 250000, len(packet), len(packet))
        out += packet
    return out


def pcapng(link_type, packets):
    out = struct.pack("<IIIHHqI", 0x0A0D0D0A, 28, 0x1A2B3C4D, 1, 0, -1, 28)
    out += struct.pack("<IIHHII", 1, 20, link_type, 0, 0, 20)
    for i, packet in enumerate(packets):
        at = (1772431200 + i) * 1000000
        padded = packet + bytes(-len(packet) % 4)
        size = 32 + len(padded)
        out += struct.pack("<IIIIIII", 6, size, 0, at >> 32, at & 0xFFFFFFFF, len(packet),
                           len(packet)) + padded + struct.pack("<I", size)
    return out


def invented():
    """Name, bytes, and whether tshark has to be told that flags stand behind the frame."""
    bare = frames()
    phy = [b"\0\0\0\0\xa7" + bytes([len(f)]) + f for f in checked()]
    flags = [f + bytes([0xF6, 0x69 if i % 7 == 3 else 0xE9]) for i, f in enumerate(bare)]
    yield "195-fcs.pcap", pcap(195, checked()), False
    yield "195-flags.pcap", pcap(195, flags), True
    yield "195-nanoseconds.pcap", pcap(195, checked(), nanoseconds=True), False
    yield "195-big-endian.pcap", pcap(195, checked(), order=">"), False
    yield "195-fcs.pcapng", pcapng(195, checked()), False
    yield "215.pcap", pcap(215, phy), False
    yield "230.pcap", pcap(230, bare), False
    yield "283-no-fcs.pcap", pcap(283, [metadata(f, 0, -87.5) for f in bare]), False
    yield "283-fcs.pcapng", pcapng(283, [metadata(f, 1, -87.5) for f in checked()]), False


def tshark_says(path, flags, home):
    command = ["tshark", "-n", "-r", str(path), "-T", "fields", "-E", "occurrence=f"]
    for field in FIELDS:
        command += ["-e", field]
    if flags:
        command += ["-o", "wpan.fcs_format:TI CC24xx metadata"]
    env = dict(os.environ, HOME=str(home))
    lines = subprocess.run(command, env=env, check=True, stdout=subprocess.PIPE,
                           stderr=subprocess.DEVNULL, text=True).stdout.splitlines()
    senders = collections.Counter()
    bad = untold = 0
    signal = None
    for line in lines:
        _, fcs_ok, kind, source_pan, pan, short_source, long_source, rss = line.split("\t")
        signal = signal or rss
        if fcs_ok in ("0", "False"):
            bad += 1
        elif not fcs_ok:
            untold += 1
        if fcs_ok in ("0", "False"):
            continue
        if kind and int(kind, 0) != 2 and long_source:
            senders[long_source.replace(":", "").upper()] += 1
        elif kind and int(kind, 0) != 2 and short_source:
            network = f"{int(source_pan or pan, 0):04X}" if source_pan or pan else "-"
            senders[f"{network}/{int(short_source, 0):04X}"] += 1
    return len(lines), (bad, untold), senders, float(signal.split()[0]) if signal else None


def program_says(program, path):
    out = subprocess.run([program, "judge", "--log", str(path), "--json"], check=True,
                         stdout=subprocess.PIPE, text=True).stdout
    answer = json.loads(out)
    senders = {n["node"]: n["heard"]["hearings"] for n in answer["nodes"]}
    bad = answer.get("skipped_by_reason", {}).get("bad-check", 0)
    means = [link["rssi_mean_dbm"] for n in answer["nodes"] for link in n["links"]
             if "rssi_mean_dbm" in link]
    return answer["rows_read"], bad, senders, means[0] if means else None


def differences(program, path, flags, home, few):
    theirs = tshark_says(path, flags, home)
    ours = program_says(program, path)
    said = []
    if ours[0] != theirs[0]:
        said.append(f"frames: {ours[0]}, tshark {theirs[0]}")
    # tshark tells nothing of the check of a frame it can't make out.
    bad, untold = theirs[1]
    if not bad <= ours[1] <= bad + untold:
        said.append(f"bad checks: {ours[1]}, tshark {bad}, and of {untold} it can't tell")
    for sender in sorted(set(ours[2]) | set(theirs[2])):
        pair = ours[2].get(sender, 0), theirs[2].get(sender, 0)
        if pair[0] != pair[1] and max(pair) > few:
            said.append(f"frames of {sender}: {pair[0]}, tshark {pair[1]}")
    if theirs[3] is not None and ours[3] != theirs[3]:
        said.append(f"signal: {ours[3]}, tshark {theirs[3]}")
    return said


def main():
    if not shutil.which("tshark"):
        print("skipped: there is no tshark")
        return 77
    program = sys.argv[1]
    failed = False
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        (folder / "home").mkdir()
        captures = []
        for name, octets, flags in invented():
            (folder / name).write_bytes(octets)
            captures.append((folder / name, flags, 0))
        real = sorted((DATA / "pcap-802154").glob("*.pcap.xz"))
        if not real:
            print("without real captures: no folder of the data sets")
        for packed in real:
            path = folder / packed.stem
            path.write_bytes(lzma.decompress(packed.read_bytes()))
            captures.append((path, packed.name.startswith("net_a"), FEW))
        for path, flags, few in captures:
            said = differences(program, path, flags, folder / "home", few)
            failed = failed or bool(said)
            print(path.name, "agrees" if not said else "differs: " + "; ".join(said))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
