# SPDX-License-Identifier: Apache-2.0
"""Checks of frames, bit by bit, in the parameters of the usual catalogue of CRCs.

Parameters and check values (the CRC of 123456789) from memory; that each model gives its published
check value, computed here in the plainest way, is what vouches for them.
"""

import collections

Model = collections.namedtuple("Model", "width polynomial start reflected final check")

CRCS = {
    "crc-8/autosar": Model(8, 0x2F, 0xFF, False, 0xFF, 0xDF),
    "crc-8/cdma2000": Model(8, 0x9B, 0xFF, False, 0x00, 0xDA),
    "crc-8/darc": Model(8, 0x39, 0x00, True, 0x00, 0x15),
    "crc-8/dvb-s2": Model(8, 0xD5, 0x00, False, 0x00, 0xBC),
    "crc-8/gsm-a": Model(8, 0x1D, 0x00, False, 0x00, 0x37),
    "crc-8/gsm-b": Model(8, 0x49, 0x00, False, 0xFF, 0x94),
    "crc-8/i-432-1": Model(8, 0x07, 0x00, False, 0x55, 0xA1),
    "crc-8/lte": Model(8, 0x9B, 0x00, False, 0x00, 0xEA),
    "crc-8/maxim-dow": Model(8, 0x31, 0x00, True, 0x00, 0xA1),
    "crc-8/nrsc-5": Model(8, 0x31, 0xFF, False, 0x00, 0xF7),
    "crc-8/opensafety": Model(8, 0x2F, 0x00, False, 0x00, 0x3E),
    "crc-8/rohc": Model(8, 0x07, 0xFF, True, 0x00, 0xD0),
    "crc-8/sae-j1850": Model(8, 0x1D, 0xFF, False, 0xFF, 0x4B),
    "crc-8/smbus": Model(8, 0x07, 0x00, False, 0x00, 0xF4),
    "crc-8/tech-3250": Model(8, 0x1D, 0xFF, True, 0x00, 0x97),
    "crc-8/wcdma": Model(8, 0x9B, 0x00, True, 0x00, 0x25),
    "crc-16/arc": Model(16, 0x8005, 0x0000, True, 0x0000, 0xBB3D),
    "crc-16/cdma2000": Model(16, 0xC867, 0xFFFF, False, 0x0000, 0x4C06),
    "crc-16/cms": Model(16, 0x8005, 0xFFFF, False, 0x0000, 0xAEE7),
    "crc-16/dds-110": Model(16, 0x8005, 0x800D, False, 0x0000, 0x9ECF),
    "crc-16/dect-r": Model(16, 0x0589, 0x0000, False, 0x0001, 0x007E),
    "crc-16/dect-x": Model(16, 0x0589, 0x0000, False, 0x0000, 0x007F),
    "crc-16/dnp": Model(16, 0x3D65, 0x0000, True, 0xFFFF, 0xEA82),
    "crc-16/en-13757": Model(16, 0x3D65, 0x0000, False, 0xFFFF, 0xC2B7),
    "crc-16/genibus": Model(16, 0x1021, 0xFFFF, False, 0xFFFF, 0xD64E),
    "crc-16/gsm": Model(16, 0x1021, 0x0000, False, 0xFFFF, 0xCE3C),
    "crc-16/ibm-3740": Model(16, 0x1021, 0xFFFF, False, 0x0000, 0x29B1),
    "crc-16/ibm-sdlc": Model(16, 0x1021, 0xFFFF, True, 0xFFFF, 0x906E),
    "crc-16/iso-iec-14443-3-a": Model(16, 0x1021, 0xC6C6, True, 0x0000, 0xBF05),
    "crc-16/kermit": Model(16, 0x1021, 0x0000, True, 0x0000, 0x2189),
    "crc-16/maxim-dow": Model(16, 0x8005, 0x0000, True, 0xFFFF, 0x44C2),
    "crc-16/modbus": Model(16, 0x8005, 0xFFFF, True, 0x0000, 0x4B37),
    "crc-16/nrsc-5": Model(16, 0x080B, 0xFFFF, True, 0x0000, 0xA066),
    "crc-16/opensafety-a": Model(16, 0x5935, 0x0000, False, 0x0000, 0x5D38),
    "crc-16/opensafety-b": Model(16, 0x755B, 0x0000, False, 0x0000, 0x20FE),
    "crc-16/profibus": Model(16, 0x1DCF, 0xFFFF, False, 0xFFFF, 0xA819),
    "crc-16/t10-dif": Model(16, 0x8BB7, 0x0000, False, 0x0000, 0xD0DB),
    "crc-16/umts": Model(16, 0x8005, 0x0000, False, 0x0000, 0xFEE8),
    "crc-16/usb": Model(16, 0x8005, 0xFFFF, True, 0xFFFF, 0xB4C8),
    "crc-16/xmodem": Model(16, 0x1021, 0x0000, False, 0x0000, 0x31C3),
    "crc-24/ble": Model(24, 0x00065B, 0x555555, True, 0x000000, 0xC25A56),
    "crc-24/interlaken": Model(24, 0x328B63, 0xFFFFFF, False, 0xFFFFFF, 0xB4F3E6),
    "crc-24/lte-a": Model(24, 0x864CFB, 0x000000, False, 0x000000, 0xCDE703),
    "crc-24/lte-b": Model(24, 0x800063, 0x000000, False, 0x000000, 0x23EF52),
    "crc-24/openpgp": Model(24, 0x864CFB, 0xB704CE, False, 0x000000, 0x21CF02),
    "crc-32/aixm": Model(32, 0x814141AB, 0x00000000, False, 0x00000000, 0x3010BF7F),
    "crc-32/autosar": Model(32, 0xF4ACFB13, 0xFFFFFFFF, True, 0xFFFFFFFF, 0x1697D06A),
    "crc-32/bzip2": Model(32, 0x04C11DB7, 0xFFFFFFFF, False, 0xFFFFFFFF, 0xFC891918),
    "crc-32/cksum": Model(32, 0x04C11DB7, 0x00000000, False, 0xFFFFFFFF, 0x765E7680),
    "crc-32/iscsi": Model(32, 0x1EDC6F41, 0xFFFFFFFF, True, 0xFFFFFFFF, 0xE3069283),
    "crc-32/iso-hdlc": Model(32, 0x04C11DB7, 0xFFFFFFFF, True, 0xFFFFFFFF, 0xCBF43926),
    "crc-32/jamcrc": Model(32, 0x04C11DB7, 0xFFFFFFFF, True, 0x00000000, 0x340BC6D9),
    "crc-32/mef": Model(32, 0x741B8CD7, 0xFFFFFFFF, True, 0x00000000, 0xD2C22F51),
    "crc-32/mpeg-2": Model(32, 0x04C11DB7, 0xFFFFFFFF, False, 0x00000000, 0x0376E6E7),
    "crc-32/xfer": Model(32, 0x000000AF, 0x00000000, False, 0x00000000, 0xBD0BE338),
    "crc-64/ecma-182": Model(64, 0x42F0E1EBA9EA3693, 0x0000000000000000, False, 0x0000000000000000, 0x6C40DF5F0B497347),
    "crc-64/go-iso": Model(64, 0x000000000000001B, 0xFFFFFFFFFFFFFFFF, True, 0xFFFFFFFFFFFFFFFF, 0xB90956C775A41001),
    "crc-64/we": Model(64, 0x42F0E1EBA9EA3693, 0xFFFFFFFFFFFFFFFF, False, 0xFFFFFFFFFFFFFFFF, 0x62EC59E3F1A4F00A),
    "crc-64/xz": Model(64, 0x42F0E1EBA9EA3693, 0xFFFFFFFFFFFFFFFF, True, 0xFFFFFFFFFFFFFFFF, 0x995DC9BBDF1939FA),
}

USUAL = ("crc-8/smbus", "crc-8/maxim-dow", "crc-8/autosar", "crc-16/arc", "crc-16/modbus", "crc-16/xmodem",
         "crc-16/kermit", "crc-16/ibm-3740", "crc-16/ibm-sdlc", "crc-16/dnp", "crc-16/en-13757", "crc-32/iso-hdlc")


def mirrored(value, width):
    return sum(1 << (width - 1 - bit) for bit in range(width) if value >> bit & 1)


def crc(model, octets):
    """The textbook's shift register. A reflected model takes and gives the lowest bit first."""
    register, top, mask = model.start, 1 << (model.width - 1), (1 << model.width) - 1
    for octet in octets:
        for bit in range(8) if model.reflected else range(7, -1, -1):
            feedback = bool(register & top) != bool(octet >> bit & 1)
            register = (register << 1) & mask
            if feedback:
                register ^= model.polynomial
    return (mirrored(register, model.width) if model.reflected else register) ^ model.final


Check = collections.namedtuple("Check", "kind order complement digits", defaults=(None, "none", False))
"""How a frame is checked: a name of CRCS, sum-8, sum-16 or xor-8. `order` None: as it is usual."""


def width_of(check):
    """Octets of its value, before any digits."""
    if check.kind in CRCS:
        return CRCS[check.kind].width // 8
    return 2 if check.kind == "sum-16" else 1


def sent_width(check):
    return width_of(check) * (2 if check.digits else 1)


def order_of(check):
    """Reflected CRCs go low octet first, others and sums high octet first."""
    usual = "little" if check.kind in CRCS and CRCS[check.kind].reflected else "big"
    return check.order or usual


def value_of(check, octets):
    if check.kind in CRCS:
        return crc(CRCS[check.kind], octets)
    if check.kind == "xor-8":
        value = 0
        for octet in octets:
            value ^= octet
        return value
    mask = (1 << 8 * width_of(check)) - 1
    value = sum(octets) & mask
    return {"none": value, "ones": value ^ mask, "twos": -value & mask}[check.complement]


def as_sent(check, octets):
    value = value_of(check, octets).to_bytes(width_of(check), order_of(check))
    return value.hex().upper().encode() if check.digits else value
