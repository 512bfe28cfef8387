# SPDX-License-Identifier: Apache-2.0
"""What the checks in this folder share: the files of the project, and how faults are told."""

import os
import pathlib
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
SKIPPED = 77  # the exit code that ctest is told to take as "skipped"


def project_files(root=ROOT):
    """Paths relative to `root` of all files that are, or would be, under version control."""
    try:
        listed = subprocess.run(
            ["git", "-C", root, "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            check=True, capture_output=True, text=True).stdout.split("\0")
        if any(listed):
            return sorted({pathlib.Path(name) for name in listed if name and (root / name).is_file()})
    except (OSError, subprocess.CalledProcessError):
        pass
    found = []
    for folder, folders, names in os.walk(root):
        folders[:] = [name for name in folders if name not in {".git", "build", "node_modules"}]
        found += [(pathlib.Path(folder) / name).relative_to(root) for name in names]
    return sorted(found)


def cpp_files(root=ROOT, suffixes=(".h", ".cc")):
    return [path for path in project_files(root) if path.suffix in suffixes]


def read(path):
    """The text of a file, or None where it is not text (a drawing, a compressed log)."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return None


def finish(faults, passed):
    """Prints the faults, or the sentence that says what passed, and ends the program."""
    for fault in faults:
        print(fault)
    print(f"{len(faults)} faults" if faults else passed)
    sys.exit(1 if faults else 0)
