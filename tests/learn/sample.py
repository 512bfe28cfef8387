# SPDX-License-Identifier: Apache-2.0
"""What somebody at a desk has of a device: a log of its bytes, and what he said meanwhile."""

import collections
import datetime

Arrival = collections.namedtuple("Arrival", "at_s octets")


def time_text(at_s):
    moment = datetime.datetime.fromtimestamp(round(at_s * 1000) / 1000, datetime.timezone.utc)
    return moment.strftime("%Y-%m-%dT%H:%M:%S.") + f"{moment.microsecond // 1000:03}Z"


def damaged(dice, octets):
    """Some bits turned, a piece cut out, or octets put in."""
    out = bytearray(octets)
    how = dice.pick(("flip", "cut", "insert"))
    if how == "flip":
        for _ in range(dice.whole(1, 4)):
            out[dice.whole(0, len(out) - 1)] ^= 1 << dice.whole(0, 7)
    elif how == "cut":
        count = dice.whole(1, max(1, len(out) // 2))
        at = dice.pick((0, len(out) - count, dice.whole(0, len(out) - count)))
        del out[at:at + count]
    else:
        at = dice.whole(0, len(out))
        out[at:at] = dice.octets(dice.whole(1, 3))
    return bytes(out)


class Sample:
    """At most 40 frames, damaged ones among them, and then `fresh` reports that nobody learns from."""

    def __init__(self, device, frames=None, fresh=20):
        dice = self.dice = device.dice
        self.device = device
        self.reports = device.heard_reports(frames or dice.whole(32, 40))
        self.sound = [not dice.happens(device.damage) for _ in self.reports]
        self.arrivals = []
        for report, sound in zip(self.reports, self.sound):
            self.arrive(report, sound)
        self.say()
        device.restarts, device.loss = [], 0
        self.fresh = device.heard_reports(fresh)

    def arrive(self, report, sound):
        octets = self.device.on_stream(self.device.frame(report))
        if not sound:
            octets = damaged(self.dice, octets)
        at_s = report.at_s + self.dice.between(0, 0.3)
        if self.dice.happens(self.device.noise):
            noise = self.dice.octets(self.dice.whole(1, 12))
            if self.device.framing == "line":
                noise += b"\n"  # else it would take the line behind it along
            self.arrivals.append(Arrival(at_s - 0.1, noise))
        pieces = [octets]
        if self.device.framing != "none" and len(octets) > 1 and self.dice.happens(0.2):
            cut = self.dice.whole(1, len(octets) - 1)
            pieces = [octets[:cut], octets[cut:]]
        for number, piece in enumerate(pieces):
            self.arrivals.append(Arrival(at_s + 0.02 * number, piece))

    def label(self, node):
        return self.device.addresses[node].hex().upper()[-4:]

    def say(self):
        """Digits of three to five labels, each restart a little before or after its report, and one value."""
        spoken = self.dice.shuffled(range(len(self.device.addresses)))[:self.dice.whole(3, 5)]
        self.provoked = []
        for report in self.reports:
            if report.restarts:
                said_s = report.at_s + self.dice.between(-30, 10)
                self.provoked.append((said_s, self.label(report.node)))
                if report.node not in spoken:
                    spoken.append(report.node)
        self.labels = [self.label(node) for node in spoken]
        sound = self.sound_reports()
        varied = [field for field in self.device.fields if self.device.shows_all_octets(field, sound)]
        self.rough_fields = [field for field in varied if self.device.is_rough(field, sound)]
        self.shown_fields = [field for field in varied if field not in self.rough_fields]
        measured = [field for field in self.device.fields if field.quantity.digits is not None]
        field = self.dice.pick([field for field in measured if field in self.shown_fields] or measured)
        # A value near nought agrees with any scale: somebody who knows that waits for a better one.
        telling = [report for report in sound if abs(report.values[field.name]) >= 20 / 10 ** field.quantity.digits]
        self.value_tells = bool(telling)
        report = self.dice.pick(telling or sound)
        shown = f"{report.values[field.name]:.{field.quantity.digits}f}"
        self.instrument = field
        self.value = (field.name, shown, report.at_s + self.dice.between(-2, 2), self.label(report.node))

    def sound_reports(self):
        return [report for report, is_sound in zip(self.reports, self.sound) if is_sound]

    def log(self):
        how = "message" if self.device.framing == "none" else "stream"
        return "".join(f"{time_text(arrival.at_s)} desk {how} {arrival.octets.hex().upper()}\n"
                       for arrival in sorted(self.arrivals, key=lambda arrival: arrival.at_s) if arrival.octets)

    def arguments(self):
        """Of `fieldfare learn LOG`."""
        name, shown, at_s, label = self.value
        arguments = ["--label", ",".join(self.labels), "--value", f"{name}={shown}@{time_text(at_s)}={label}"]
        for at_s, label in self.provoked:
            arguments += ["--provoked", f"{time_text(at_s)}={label}"]
        return arguments
