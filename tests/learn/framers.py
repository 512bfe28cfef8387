# SPDX-License-Identifier: Apache-2.0
"""Frames on a stream: what a sender puts around them, and what a plain receiver takes off again."""


def slip(frame):
    """RFC 1055: END C0, ESC DB; an END in front flushes what noise there was."""
    return b"\xc0" + frame.replace(b"\xdb", b"\xdb\xdd").replace(b"\xc0", b"\xdb\xdc") + b"\xc0"


def hdlc(frame):
    """RFC 1662, 4.2: flag 7E, escape 7D, bit 5 turned."""
    return b"\x7e" + b"".join(bytes([0x7D, o ^ 0x20]) if o in (0x7D, 0x7E) else bytes([o]) for o in frame) + b"\x7e"


def cobs(frame):
    """Consistent overhead byte stuffing: each run without 00 behind its length plus one."""
    assert len(frame) < 254  # longer runs need a group of their own, which no frame here does
    groups = b"".join(bytes([len(run) + 1]) + run for run in frame.split(b"\x00"))
    return b"\x00" + groups + b"\x00"


def unslip(octets):
    """None where an escape is none of the two."""
    out, at = bytearray(), 0
    while at < len(octets):
        if octets[at] == 0xDB:
            meant = {0xDC: 0xC0, 0xDD: 0xDB}.get(octets[at + 1]) if at + 1 < len(octets) else None
            if meant is None:
                return None
            out.append(meant)
            at += 2
        else:
            out.append(octets[at])
            at += 1
    return bytes(out)


def unhdlc(octets):
    out, escaped = bytearray(), False
    for octet in octets:
        if octet == 0x7D and not escaped:
            escaped = True
            continue
        out.append(octet ^ 0x20 if escaped else octet)
        escaped = False
    return None if escaped else bytes(out)


def uncobs(octets):
    out, at = bytearray(), 0
    while at < len(octets):
        run = octets[at]
        if run == 0 or at + run > len(octets):
            return None
        out += octets[at + 1:at + run]
        at += run
        if run < 255 and at < len(octets):
            out.append(0)
    return bytes(out)
