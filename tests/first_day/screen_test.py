#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""That the terminal shows what a real one would. Sequences: ECMA-48, from memory."""

import unittest

from screen import Screen


class Shows(unittest.TestCase):
    def shown(self, text, columns=10, rows=3):
        screen = Screen(columns, rows)
        screen.feed(text.encode())
        self.assertEqual(screen.unknown, [])
        return screen.lines()

    def test_text_breaks_at_the_edge_and_scrolls_at_the_bottom(self):
        self.assertEqual(self.shown("0123456789ab"), ["0123456789", "ab", ""])
        self.assertEqual(self.shown("a\r\nb\r\nc\r\nd"), ["b", "c", "d"])

    def test_without_breaking_the_last_column_is_overwritten(self):
        self.assertEqual(self.shown("\x1b[?7l0123456789ab"), ["012345678b", "", ""])

    def test_the_cursor_goes_where_it_is_told(self):
        self.assertEqual(self.shown("\x1b[2;3Hx\x1b[Hy\x1b[Bz"), ["y", " zx", ""])

    def test_erasing_takes_what_it_names_only(self):
        self.assertEqual(self.shown("abcdef\x1b[1;3H\x1b[K"), ["ab", "", ""])
        self.assertEqual(self.shown("abcdef\x1b[1;3H\x1b[1K"), ["   def", "", ""])
        self.assertEqual(self.shown("a\r\nbc\r\nd\x1b[2;2H\x1b[J"), ["a", "b", ""])
        self.assertEqual(self.shown("a\r\nbc\x1b[2Jx"), ["", "  x", ""])

    def test_colour_leaves_no_trace_and_torn_sequences_and_characters_wait(self):
        screen = Screen(10, 3)
        for octet in "\x1b[1;31m°C\x1b[0m→".encode():
            screen.feed(bytes([octet]))
        self.assertEqual(screen.lines(), ["°C→", "", ""])
        self.assertEqual(screen.unknown, [])

    def test_the_other_screen_goes_as_it_came(self):
        self.assertEqual(self.shown("a\x1b[?1049hb\x1b[?1049lc"), ["ac", "", ""])


if __name__ == "__main__":
    unittest.main()
