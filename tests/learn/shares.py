# SPDX-License-Identifier: Apache-2.0
"""How large a share of many made-up devices the program learns rightly."""

import collections
import concurrent.futures
import math
import os
import traceback

import trial

Share = collections.namedtuple("Share", "right of")

FALSE_ALARM = 0.005


def least_right(of, share, false_alarm=FALSE_ALARM):
    """The smallest number of right ones that a learner whose true share is `share` stays below in no more
    than `false_alarm` of draws: the binomial distribution, summed."""
    below = 0.0
    for right in range(of + 1):
        below += math.comb(of, right) * share ** right * (1 - share) ** (of - right)
        if below > false_alarm:
            return right
    return of


class Shares:
    """Of devices by seed. One that the program fails on altogether counts as wrong, and why is kept."""

    def __init__(self, seeds, kind="binary"):
        self.trials, self.failures = [], []
        with concurrent.futures.ThreadPoolExecutor(os.cpu_count() or 1) as pool:
            for seed, outcome in zip(seeds, pool.map(lambda seed: self.one(seed, kind), seeds)):
                (self.trials if isinstance(outcome, trial.Trial) else self.failures).append(outcome)

    @staticmethod
    def one(seed, kind):
        try:
            return trial.try_device(seed, kind)
        except Exception:  # whatever it is, it is one device of many
            return f"device {seed}: {traceback.format_exc(limit=-1)}"

    def count(self, is_right, counts=lambda _: True):
        counted = [one for one in self.trials if counts(one)]
        return Share(sum(map(is_right, counted)), len(counted) + len(self.failures))

    def core(self):
        return self.count(lambda one: one.right)

    def part(self, part):
        return self.count(lambda one: one.core[part])

    def fields(self):
        return Share(sum(one.fields_right for one in self.trials), sum(one.fields_shown for one in self.trials))

    def fields_same_form(self):
        return Share(sum(one.fields_same_form for one in self.trials), sum(one.fields_shown for one in self.trials))

    def rough_fields(self):
        return Share(sum(one.rough_right for one in self.trials), sum(len(one.sample.rough_fields) for one in self.trials))

    def scales(self):
        return self.count(lambda one: one.scale_right, lambda one: one.scale_counts)

    def starts(self):
        return self.count(lambda one: one.start_right)

    def whole_addresses(self):
        return self.count(lambda one: one.whole_address)

    def falsely_certain(self):
        return [one for one in self.trials if one.is_falsely_certain]

    def by_class(self):
        """Of all that make a device: name of the class, and the share of devices with it that were right."""
        classes = collections.defaultdict(list)
        for one in self.trials:
            for name in classes_of(one):
                classes[name].append(one.right)
        return {name: Share(sum(rights), len(rights)) for name, rights in sorted(classes.items())}

    def lines(self):
        parts = {"all four": self.core(), **{part: self.part(part) for part in ("framing", "check", "address", "counter")},
                 "address as long as it is": self.whole_addresses(), "start of the counter": self.starts(),
                 "fields read right": self.fields(), "fields of the same form": self.fields_same_form(), "rough fields read right": self.rough_fields(),
                 "scale by one value": self.scales()}
        for name, share in {**parts, **self.by_class()}.items():
            yield f"{name:32} {share.right:5} of {share.of:5}" + (f"  {share.right / share.of:.3f}" if share.of else "")
        for one in self.trials:
            if not one.right:
                wrong = [part for part, is_right in one.core.items() if not is_right]
                yield f"wrong: {trial.describe(one.sample)}: {', '.join(wrong)} {one.why}"
        yield from self.failures
        for one in self.falsely_certain():
            yield f"falsely certain of a check: {trial.describe(one.sample)}"


def classes_of(one):
    device, sound = one.device, one.sample.sound
    damage = 1 - sum(sound) / len(sound)
    check = "none" if device.check is None else device.check.kind.rsplit("-", 1)[0] if device.check.kind[0] != "c" else (
        device.check.kind.split("/")[0])
    yield f"framing {device.framing}"
    yield f"check {check}"
    yield f"counter of {device.counter_bits} bits"
    yield f"address of {device.address_width} octets, {device.address_order}"
    yield "damaged " + ("below 10 %" if damage < 0.1 else "10 to 20 %" if damage < 0.2 else "20 % and more")
    yield "noise between frames" if device.noise else "no noise"
