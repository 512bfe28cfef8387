# SPDX-License-Identifier: Apache-2.0
"""Somebody before a terminal with the program in it: he sees the screen and presses keys, no more."""

import fcntl
import os
import pathlib
import re
import signal
import struct
import subprocess
import termios
import threading
import time

from screen import Screen

PROGRAM = os.environ.get("FIELDFARE_PROGRAM", "fieldfare")
ENTER, ESCAPE, UP, DOWN = "\r", "\x1b", "\x1b[A", "\x1b[B"


class Seated:
    """`fieldfare ARGUMENTS` in a terminal of its own; `folder` is where it is started and at home."""

    def __init__(self, folder, *arguments, user=None):
        self.screen, self.lock = Screen(), threading.Lock()
        self.master, slave = os.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", self.screen.rows, self.screen.columns, 0, 0))
        if user is not None:
            os.fchown(slave, user, -1)
        environment = {**os.environ, "TERM": "xterm-256color", "LC_ALL": "C.UTF-8", "TZ": "UTC", "HOME": str(folder)}
        for name in ("XDG_STATE_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "NO_COLOR", "COLUMNS", "LINES"):
            environment.pop(name, None)
        self.process = subprocess.Popen([str(pathlib.Path(PROGRAM).resolve()), *arguments], cwd=folder, stdin=slave,
                                        stdout=slave, stderr=slave, env=environment, start_new_session=True, user=user)
        os.close(slave)
        self.reader = threading.Thread(target=self.look, daemon=True)
        self.reader.start()

    def look(self):
        while True:
            try:
                octets = os.read(self.master, 65536)
            except OSError:  # EIO: the program has let go of the terminal
                return
            if not octets:
                return
            with self.lock:
                self.screen.feed(octets)

    def text(self):
        with self.lock:
            return self.screen.text()

    def lines(self):
        return self.text().split("\n")

    def flowing(self):
        """The screen's text as if no line had been broken, for sentences."""
        return re.sub(r"\s+", " ", self.text())

    def press(self, keys):
        os.write(self.master, keys.encode())

    def has_ended(self):
        return self.process.poll() is not None

    def wait_for(self, what, seconds=30):
        """Until a pattern stands on the screen (over line breaks too), or a condition holds."""
        is_there = what if callable(what) else lambda: re.search(what, self.flowing())
        limit = time.monotonic() + seconds
        while True:
            found = is_there()
            if found:
                return found
            if time.monotonic() > limit or self.has_ended():
                ended = f", it exits {self.process.returncode}" if self.has_ended() else ""
                raise AssertionError(f"'{what}' is not to be seen after {seconds} s{ended}:\n{self.text()}")
            time.sleep(0.05)

    def wait_end(self, seconds=30):
        try:
            code = self.process.wait(seconds)
        except subprocess.TimeoutExpired as late:
            raise AssertionError(f"it has not ended after {seconds} s:\n{self.text()}") from late
        self.reader.join(5)
        return code

    def close(self):
        if not self.has_ended():
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
        self.reader.join(5)
        os.close(self.master)
