#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Runs whole-program scenarios.

    run_cases.py PROGRAM [CASE.case ...]

A case is a text file. Lines:

    # a comment
    file NAME                 the indented lines below become that file
    $ COMMAND                 run by bash in an empty folder, `fieldfare` being the program
    exit N                    the command's exit code; 0 where it isn't said
    out TEXT / err TEXT       appears in standard output / error, in this order
    not TEXT                  appears in neither
    same                      standard output is that of the command before
    schema NAME               standard output is a JSON document of docs/schema/NAME.schema.json
    json EXPRESSION           a Python expression over the document `d` is true

A case with a line `help` runs the example of every --help instead.
"""

import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
TYPES = {
    "object": dict, "array": list, "string": str, "boolean": bool,
    "number": (int, float), "integer": int,
}  # fmt: skip


def schema_faults(value, schema, at="document"):
    """Where a value breaks a schema: as much of JSON Schema 2020-12 as ours use."""
    if "const" in schema and value != schema["const"]:
        yield f"{at} is not {schema['const']!r}"
    if "enum" in schema and value not in schema["enum"]:
        yield f"{at} is none of {schema['enum']}"
    if "anyOf" in schema and all(list(schema_faults(value, s, at)) for s in schema["anyOf"]):
        yield f"{at} fits no alternative"
    if "type" in schema:
        kinds = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
        is_flag = isinstance(value, bool)
        if not any(isinstance(value, TYPES[k]) and (k == "boolean" or not is_flag) for k in kinds):
            yield f"{at} is no {' or '.join(kinds)}"
            return
    if "minimum" in schema and value < schema["minimum"]:
        yield f"{at} is less than {schema['minimum']}"
    if "maximum" in schema and value > schema["maximum"]:
        yield f"{at} is more than {schema['maximum']}"
    if "pattern" in schema and not re.search(schema["pattern"], value):
        yield f"{at} does not match {schema['pattern']}"
    if isinstance(value, list):
        if len(value) > schema.get("maxItems", len(value)):
            yield f"{at} has too many items"
        for i, item in enumerate(value):
            yield from schema_faults(item, schema.get("items", {}), f"{at}[{i}]")
    if isinstance(value, dict):
        known = schema.get("properties", {})
        for key in schema.get("required", []):
            if key not in value:
                yield f"{at} lacks {key}"
        for key, item in value.items():
            rest = schema.get("additionalProperties", {})
            if key in known:
                yield from schema_faults(item, known[key], f"{at}.{key}")
            elif rest is False:
                yield f"{at} has an unknown key {key}"
            else:
                yield from schema_faults(item, rest, f"{at}.{key}")


class Case:
    def __init__(self, program, folder):
        self.folder = folder
        path = f"{program.parent}{os.pathsep}{os.environ['PATH']}"
        self.environment = dict(os.environ, PATH=path, LC_ALL="C.UTF-8", COLUMNS="100",
                                EXAMPLES=str(ROOT / "examples"), ROOT=str(ROOT))  # fmt: skip
        self.done = self.before = None
        self.wanted_exit = 0

    def run(self, command):
        self.before = self.done
        self.done = subprocess.run(
            ["bash", "-c", command], cwd=self.folder, env=self.environment, capture_output=True,
            text=True, timeout=120, stdin=subprocess.DEVNULL)  # fmt: skip
        self.command, self.wanted_exit, self.seen = command, 0, {"out": 0, "err": 0}

    def fault_of_exit(self):
        if self.done is None or self.done.returncode == self.wanted_exit:
            return None
        return (f"$ {self.command}\nexited with {self.done.returncode}, expected "
                f"{self.wanted_exit}\n{self.done.stdout}{self.done.stderr}")  # fmt: skip

    def prints_json(self):
        try:
            json.loads(self.done.stdout)
        except ValueError:
            return False
        return True

    def expect(self, word, text):
        """What of the last command contradicts one line of the case."""
        outputs = {"out": self.done.stdout, "err": self.done.stderr}
        if word in outputs:
            at = outputs[word].find(text, self.seen[word])
            if at < 0:
                return f"no {text!r} in its {word}:\n{outputs[word]}"
            self.seen[word] = at + len(text)
        elif word == "not":
            if any(text in output for output in outputs.values()):
                return f"there is {text!r} in what it printed"
        elif word == "same":
            if self.before is None or self.done.stdout != self.before.stdout:
                return "its output differs from that of the command before"
        elif word in ("schema", "json") and not self.prints_json():
            return f"no JSON document:\n{self.done.stdout}{self.done.stderr}"
        elif word == "schema":
            schema = json.loads((ROOT / f"docs/schema/{text}.schema.json").read_text())
            return "; ".join(schema_faults(json.loads(self.done.stdout), schema)) or None
        elif word == "json":
            if not eval(text, {"d": json.loads(self.done.stdout), "json": json}):
                return f"not true: {text}\n{self.done.stdout}"
        else:
            return f"the case says {word!r}, which means nothing"
        return None


def faults_of(case_path, program):
    with tempfile.TemporaryDirectory() as folder:
        case = Case(program, folder)
        lines = case_path.read_text().splitlines()
        number = 0
        while number < len(lines):
            line = lines[number]
            number += 1
            place = f"{case_path.name}:{number}: "
            if not line.strip() or line.startswith("#"):
                continue
            if line.startswith("file "):
                text = ""
                while number < len(lines) and lines[number].startswith("    "):
                    text += lines[number][4:] + "\n"
                    number += 1
                target = pathlib.Path(folder, line[5:])
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_text(text)
                continue
            if line.startswith("$ "):
                if fault := case.fault_of_exit():
                    yield place + fault
                case.run(line[2:])
            elif line == "help":
                yield from (place + fault for fault in help_faults(case))
            elif line.startswith("exit "):
                case.wanted_exit = int(line[5:])
            elif fault := case.expect(*(line.split(" ", 1) + [""])[:2]):
                yield f"{place}$ {case.command}\n{fault}"
        if fault := case.fault_of_exit():
            yield f"{case_path.name}: {fault}"


def help_faults(case):
    """The example of every --help works as typed."""
    case.run("fieldfare --help")
    listed = case.done.stdout.partition("Subcommands:")[2].partition("Example:")[0]
    verbs = re.findall(r"^  (\w+) +", listed, re.MULTILINE)
    if len(verbs) < 5:
        yield f"--help names too few verbs:\n{case.done.stdout}"
    for arguments in ["--help"] + [f"{verb} --help" for verb in verbs]:
        case.run(f"fieldfare {arguments}")
        example = re.search(r"^Example:\n  (.*)", case.done.stdout, re.MULTILINE)
        if not example:
            yield f"{arguments} has no example"
            continue
        home = case.folder
        with tempfile.TemporaryDirectory() as case.folder:
            case.run(example[1])
        case.folder = home
        if case.done.returncode != 0:
            yield f"the example of {arguments} exits with {case.done.returncode}: {example[1]}"
            yield case.done.stdout + case.done.stderr


def main():
    program = pathlib.Path(sys.argv[1]).resolve()
    chosen = [pathlib.Path(name) for name in sys.argv[2:]]
    cases = chosen or sorted(pathlib.Path(__file__).parent.glob("*.case"))
    faults = [fault for case in cases for fault in faults_of(case, program)]
    for fault in faults:
        print(fault)
    print(f"{len(cases)} cases, {len(faults)} faults")
    return 1 if faults or not cases else 0


if __name__ == "__main__":
    sys.exit(main())
