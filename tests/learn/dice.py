# SPDX-License-Identifier: Apache-2.0
"""Chance that comes out the same everywhere.

Only random.Random(seed).random() is used: of all its calls, the Python library promises for this one
alone that a seed gives the same numbers in every later version.
"""

import random


class Dice:
    def __init__(self, seed):
        self.random = random.Random(seed).random

    def whole(self, low, high):
        """A whole number from `low` to `high`, both included."""
        return low + int(self.random() * (high - low + 1))

    def between(self, low, high):
        return low + self.random() * (high - low)

    def happens(self, probability):
        return self.random() < probability

    def pick(self, choices):
        return choices[self.whole(0, len(choices) - 1)]

    def pick_weighted(self, weighted):
        """From pairs of a choice and its weight."""
        left = self.random() * sum(weight for _, weight in weighted)
        for choice, weight in weighted:
            left -= weight
            if left < 0:
                return choice
        return weighted[-1][0]

    def bell(self):
        """Nearly normal, mean 0, spread 1: twelve draws from 0 to 1, less their mean sum."""
        total = 0.0
        for _ in range(12):
            total += self.random()  # not sum(), which later versions round otherwise
        return total - 6

    def octets(self, count):
        return bytes(self.whole(0, 255) for _ in range(count))

    def shuffled(self, things):
        rest, out = list(things), []
        while rest:
            out.append(rest.pop(self.whole(0, len(rest) - 1)))
        return out
