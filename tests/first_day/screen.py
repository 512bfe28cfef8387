# SPDX-License-Identifier: Apache-2.0
"""A terminal of 80 by 24 characters, as far as the program uses one: what stands on its screen.

Control sequences of ECMA-48 (from memory) and the private modes that xterm brought in (common practice).
"""

import codecs
import re

SEQUENCE = re.compile(r"\x1b(?:\[([<=>?]?)([\d;:]*)[ -/]*([@-~])|\][^\x07\x1b]*(?:\x07|\x1b\\)|[()][0-9A-Za-z]|([0-9=>A-Z\\]))")
UNFINISHED = re.compile(r"\x1b(?:\[[\d;:<=>?]*[ -/]*|\][^\x07\x1b]*|[()]?)$")


class Screen:
    def __init__(self, columns=80, rows=24):
        self.columns, self.rows = columns, rows
        self.decoder = codecs.getincrementaldecoder("utf-8")("replace")
        self.pending = ""
        self.modes = set()
        self.unknown = []  # sequences that this terminal doesn't have
        self.clear()
        self.at = [0, 0]  # row, column
        self.main = None

    def clear(self):
        self.cells = [[" "] * self.columns for _ in range(self.rows)]

    def lines(self):
        return ["".join(row).rstrip() for row in self.cells]

    def text(self):
        return "\n".join(self.lines())

    def feed(self, octets):
        self.pending += self.decoder.decode(octets)
        while self.pending:
            if self.pending[0] != "\x1b":
                self.put(self.pending[0])
                self.pending = self.pending[1:]
                continue
            found = SEQUENCE.match(self.pending)
            if not found:
                if UNFINISHED.match(self.pending):
                    return
                self.unknown.append(self.pending[:8])
                self.pending = self.pending[1:]
                continue
            self.pending = self.pending[found.end():]
            if found[3]:
                self.control(found[1], found[2], found[3])

    def put(self, character):
        if character == "\r":
            self.at[1] = 0
        elif character == "\n":
            self.line_feed()
        elif character == "\b":
            self.at[1] = max(0, self.at[1] - 1)
        elif character == "\t":
            self.at[1] = min(self.columns - 1, (self.at[1] // 8 + 1) * 8)
        elif character >= " ":
            self.put_visible(character)

    def put_visible(self, character):
        if self.at[1] >= self.columns:
            if "?7" in self.modes:  # here: breaking of lines is switched off
                self.at[1] = self.columns - 1
            else:
                self.at[1] = 0
                self.line_feed()
        self.cells[self.at[0]][self.at[1]] = character
        self.at[1] += 1

    def line_feed(self):
        if self.at[0] + 1 < self.rows:
            self.at[0] += 1
            return
        self.cells = self.cells[1:] + [[" "] * self.columns]

    def control(self, private, parameters, final):
        numbers = [int(number) if number else None for number in re.split("[;:]", parameters)]
        first = numbers[0]
        if private:
            return self.set_mode(private + parameters, final)
        if final in "Hf":
            column = numbers[1] if len(numbers) > 1 else None
            self.at = [min(self.rows, max(1, first or 1)) - 1, min(self.columns, max(1, column or 1)) - 1]
        elif final in "ABCD":
            axis, sign = {"A": (0, -1), "B": (0, 1), "C": (1, 1), "D": (1, -1)}[final]
            limit = (self.rows, self.columns)[axis] - 1
            self.at[axis] = min(limit, max(0, self.at[axis] + sign * (first or 1)))
        elif final == "G":
            self.at[1] = min(self.columns, max(1, first or 1)) - 1
        elif final == "J":
            self.erase_screen(first or 0)
        elif final == "K":
            self.erase_line(first or 0)
        elif final not in "m":
            self.unknown.append(f"{parameters}{final}")

    def set_mode(self, mode, final):
        if mode == "?1049" and final == "h":
            self.main = (self.cells, list(self.at))
            self.clear()
        elif mode == "?1049" and final == "l" and self.main:
            (self.cells, self.at), self.main = self.main, None
        elif mode == "?7":
            (self.modes.add if final == "l" else self.modes.discard)(mode)
        else:
            (self.modes.add if final == "h" else self.modes.discard)(mode)

    def erase_line(self, how):
        column = min(self.at[1], self.columns - 1)
        first, end = {0: (column, self.columns), 1: (0, column + 1), 2: (0, self.columns)}[how]
        self.cells[self.at[0]][first:end] = " " * (end - first)

    def erase_screen(self, how):
        if how in (2, 3):
            return self.clear()
        rows = range(self.at[0] + 1, self.rows) if how == 0 else range(self.at[0])
        self.erase_line(how)
        for row in rows:
            self.cells[row] = [" "] * self.columns
