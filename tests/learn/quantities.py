# SPDX-License-Identifier: Apache-2.0
"""What invented nodes measure, how it moves, and in which numbers it is sent. All invented."""

import collections

Form = collections.namedtuple("Form", "width signed scale offset", defaults=(0.0,))
"""Octets, two's complement or not; the reading is the number times `scale` plus `offset`."""

Quantity = collections.namedtuple("Quantity", "name low high spread walk noise swing forms digits")
"""A level between `low` and `high`; `spread` from node to node, `walk` from report to report and
`noise` in each (all one spread of a bell); `swing` up and down in a day. `digits`: decimals that an
instrument beside it shows, None where nobody has one."""

QUANTITIES = (
    Quantity("temperature_c", -15, 35, 4, 0.15, 0.02, 4,
             (Form(2, True, 0.01), Form(2, True, 0.01), Form(2, True, 0.1), Form(2, True, 0.0625),
              Form(2, True, 1 / 256), Form(2, False, 0.01, -40), Form(2, False, 0.01, -273.15),
              Form(1, True, 0.5), Form(1, False, 0.5, -40), Form(3, True, 0.001), Form(4, True, 0.001)), 1),
    Quantity("humidity_pct", 30, 85, 6, 0.5, 0.2, 10,
             (Form(1, False, 0.5), Form(1, False, 1), Form(2, False, 0.1), Form(2, False, 0.01)), 1),
    Quantity("pressure_hpa", 950, 1030, 1.5, 0.05, 0.05, 1,
             (Form(2, False, 0.1), Form(3, False, 0.01), Form(4, False, 0.01)), 1),
    Quantity("supply_v", 2.6, 3.6, 0.1, 0.002, 0.005, 0.01,
             (Form(2, False, 0.001), Form(1, False, 0.025), Form(2, False, 0.01)), 2),
    Quantity("light_lux", 100, 20000, 2000, 300, 50, 3000,
             (Form(2, False, 1), Form(3, False, 0.1), Form(4, False, 0.01)), None),
    Quantity("carbon_dioxide_ppm", 500, 1500, 100, 15, 5, 100, (Form(2, False, 1),), None),
    Quantity("distance_mm", 500, 3000, 300, 3, 1, 50, (Form(2, False, 1), Form(4, False, 0.1)), None),
    Quantity("tilt_deg", -30, 30, 10, 0.3, 0.1, 0, (Form(2, True, 0.01), Form(2, True, 0.1), Form(1, True, 0.5)), None),
    Quantity("strain_um", -300, 300, 200, 4, 2, 20, (Form(2, True, 0.1), Form(4, True, 0.001)), None),
    Quantity("rssi_dbm", -95, -55, 8, 0.5, 2, 0, (Form(1, True, 1),), None),
)


class Course:
    """How a quantity goes at one node, from report to report."""

    def __init__(self, dice, quantity, level):
        self.dice, self.quantity = dice, quantity
        self.level = level + quantity.spread * dice.bell()

    def at(self, seconds):
        """Its value now. The day's swing is made of parabolas, which need no library's sine."""
        self.level += self.quantity.walk * self.dice.bell()
        half_days = seconds / 43200
        within = half_days % 1
        swing = 4 * within * (1 - within) * (-1 if int(half_days) % 2 else 1)
        return self.level + self.quantity.swing * swing + self.quantity.noise * self.dice.bell()


def raw_of(form, value):
    """The number sent, as near as its width allows."""
    low = -(1 << 8 * form.width - 1) if form.signed else 0
    high = low + (1 << 8 * form.width) - 1
    return max(low, min(high, round((value - form.offset) / form.scale)))
