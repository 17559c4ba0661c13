"""Folder runs made hard: killed, a full disk, a closed folder, files that vanish, clocks, odd names, many parts.

    PYTHONPATH=src python -m tests.hard.folder [kills|disk|readonly|vanish|clock|names|many ...] [--kills N] [--parts N]

Each prints what it did and what it found; the exit status is 1 where something was not as it should be. `disk` mounts a
small file system in memory and wants to be root.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

PART = """part: {name}
revision: A
material: DC01
thickness: 2
section:
  length: {length}
  legs: [40, {leg}]
  bends: [90]
"""
STEERING = ("\x1b[2J", "\x1b]0;owned\x07", "\u202e", "\x00", "\r\n", "\x9b31m")
ODD = (
    *(
        "../../escape",
        "/etc/passwd",
        "a/b",
        ".",
        "..",
        "-rf",
        "--help",
        "$(reboot)",
        "`id`",
        "a;b",
        "a b",
        "a\nb",
        "~",
        "*",
    ),
    *("<script>alert(1)</script>", "%s%n", "{{7*7}}", "'; DROP", "CON", "x" * 300, "é" * 200, "名前", "=1+1", "@a"),
    *(f"p{sign}q" for sign in STEERING),
)


def parts_in(folder: Path, count: int) -> Path:
    """So many plain angles, none like another."""
    folder.mkdir(parents=True)
    for number in range(count):
        text = PART.format(name=f"p{number}", length=100 + number // 60, leg=50 + number % 60)
        (folder / f"p{number}.yaml").write_text(text)
    return folder


def command(*arguments: object) -> list[str]:
    """The command as a process of its own."""
    return [sys.executable, "-m", "flangewise", "--quiet", *(str(each) for each in arguments)]


def done(*arguments: object, timeout: float = 3600) -> subprocess.CompletedProcess[str]:
    """A run to its end."""
    return subprocess.run(command(*arguments), capture_output=True, text=True, timeout=timeout, errors="replace")


def whole(out: Path) -> tuple[int, list[str]]:
    """How many whole sheets lie in a folder, and the names of what is no whole sheet."""
    files = sorted(out.iterdir()) if out.is_dir() else []
    good = [file for file in files if file.suffix == ".html" and file.read_bytes().rstrip().endswith(b"</html>")]
    return len(good), [file.name for file in files if file not in good]


def kills(place: Path, count: int, chance: random.Random) -> list[str]:
    """A folder run killed at so many random moments, going on each time; one whole run at the end."""
    parts, out, wrong = parts_in(place / "parts", 12), place / "out", list[str]()
    reached, left = Counter[int](), 0
    for number in range(count):
        if number % 20 == 0:
            shutil.rmtree(out, ignore_errors=True)
        asked = command("sheet", parts, "-o", out, "--html", "--jobs", 1 + number % 2)
        running = subprocess.Popen(asked, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(chance.random() * 6)
        running.send_signal(signal.SIGKILL)
        running.wait()
        good, others = whole(out)
        reached[good] += 1
        left += len(others)
        wrong += [f"kill {number}: {name}" for name in others if not name.startswith(".flangewise-")]
    for half in out.glob(".flangewise-*"):
        os.utime(half, (time.time() - 3600,) * 2)
    last = done("sheet", parts, "-o", out, "--html")
    good, others = whole(out)
    if (last.returncode, good, others) != (0, 12, []):
        wrong.append(f"after the kills: {last.returncode}, {good} sheets, {others}, {last.stderr[:200]}")
    print(f"kills: {count}, sheets lying there afterwards {dict(sorted(reached.items()))}, half files left {left}")
    return wrong


def disk(place: Path) -> list[str]:
    """A disk that is full after a few sheets, then has room again."""
    parts, out = parts_in(place / "parts", 10), place / "full"
    out.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=300k", "tmpfs", str(out)], capture_output=True)
    if mounted.returncode:
        print("disk: no file system can be mounted here: left out")
        return []
    try:
        run = done("sheet", parts, "-o", out, "--html", "--format", "json")
        made = [json.loads(line)["status"] for line in run.stdout.splitlines()]
        good, others = whole(out)
        print(f"disk: status {run.returncode}, {Counter(made)}, {good} whole sheets, others {others}")
        wrong = [] if run.returncode == 2 and "Traceback" not in run.stderr and not others else [run.stderr[:300]]
        if len(made) != 10 or good != made.count("made") or not 0 < good < 10:
            wrong.append(f"{made}: {good}")
        subprocess.run(["mount", "-o", "remount,size=64m", str(out)], check=True)
        again = done("sheet", parts, "-o", out, "--html")
        return wrong + ([] if (again.returncode, whole(out)) == (0, (10, [])) else [f"again: {again.stderr[:300]}"])
    finally:
        subprocess.run(["umount", str(out)], check=True)


def readonly(place: Path) -> list[str]:
    """A folder that takes no files: a file system mounted so, for to root rights are nothing."""
    parts, out = parts_in(place / "parts", 3), place / "closed"
    out.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "ro", "tmpfs", str(out)], capture_output=True).returncode:
        print("readonly: no file system can be mounted here: left out")
        return []
    try:
        run = done("sheet", parts, "-o", out, "--html")
        faults = run.stderr.splitlines()
        print(f"readonly: status {run.returncode}, {len(faults)} faults, the first: {faults[:1]}")
        return [] if run.returncode == 2 and len(faults) == 3 and "Traceback" not in run.stderr else [run.stderr[:300]]
    finally:
        subprocess.run(["umount", str(out)], check=True)


def vanish(place: Path, chance: random.Random) -> list[str]:
    """Parts, sheets and the folder of sheets itself that go away while the run is at work."""
    parts, out, wrong = parts_in(place / "parts", 10), place / "out", list[str]()
    running = subprocess.Popen(
        command("sheet", parts, "-o", out, "--html"), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    gone = 0
    while running.poll() is None:
        time.sleep(chance.random())
        for file in [*parts.glob("*.yaml"), *out.glob("*.html")]:
            if chance.random() < 0.2:
                file.unlink(missing_ok=True)
                gone += 1
        if chance.random() < 0.2:
            shutil.rmtree(out, ignore_errors=True)
    _, err = running.communicate()
    if running.returncode not in (0, 2) or "Traceback" in err or whole(out)[1]:
        wrong.append(f"{running.returncode}: {err[:300]} {whole(out)}")
    print(f"vanish: status {running.returncode}, {gone} files taken away, {len(err.splitlines())} faults")
    return wrong


def clock(place: Path) -> list[str]:
    """A clock that went back: parts, sheets and half files of tomorrow."""
    parts, out = parts_in(place / "parts", 3), place / "out"
    done("sheet", parts, "-o", out, "--html")
    half = out / ".flangewise-tomorrow.tmp"
    half.write_bytes(b"half")
    ahead = time.time() + 86400
    for file in [*parts.iterdir(), *out.iterdir()]:
        os.utime(file, (ahead, ahead))
    kept = [
        json.loads(line)["status"]
        for line in done("sheet", parts, "-o", out, "--html", "--format", "json").stdout.splitlines()
    ]
    (parts / "p0.yaml").write_text((parts / "p0.yaml").read_text().replace("revision: A", "revision: B"))
    os.utime(parts / "p0.yaml", (0, 0))
    made = [
        json.loads(line)["status"]
        for line in done("sheet", parts, "-o", out, "--html", "--format", "json").stdout.splitlines()
    ]
    print(f"clock: {kept}, then {made}; half file of tomorrow is {'there' if half.exists() else 'gone'}")
    as_it_should = kept == ["kept"] * 3 and made == ["made", "kept", "kept"] and not half.exists()
    return [] if as_it_should else [f"{kept} {made}"]


def names(place: Path) -> list[str]:
    """Parts with odd names and texts: nothing outside the folder, nothing that steers a terminal."""
    parts, out, wrong = place / "parts", place / "deep" / "er" / "out", list[str]()
    parts.mkdir(parents=True)
    for number, name in enumerate(ODD):
        (parts / f"n{number}.yaml").write_text(PART.format(name=json.dumps(name), length=100, leg=60))
        titled = f"title: {json.dumps(name)}\nnotes: [{json.dumps(name)}]\n" + PART.format(
            name=f"t{number}", length=100, leg=60
        )
        (parts / f"t{number}.yaml").write_text(titled)
    before = {file for file in place.rglob("*") if file.is_file()}
    for asked in (
        ("sheet", parts, "-o", out, "--html"),
        ("flat", parts, "--dxf", out, "--jobs", 2),
        ("plan", parts),
        ("check", parts),
    ):
        run = done(*asked)
        if "Traceback" in run.stderr or any(sign in run.stdout + run.stderr for sign in STEERING if sign != "\r\n"):
            wrong.append(f"{asked[0]}: {run.stderr[:300]!r}")
        if run.returncode not in (0, 1, 2):
            wrong.append(f"{asked[0]}: status {run.returncode}")
    outside = {file for file in place.rglob("*") if file.is_file()} - before - set(out.iterdir())
    print(f"names: {len(ODD)} odd names, {len(list(out.iterdir()))} files made, outside the folder {len(outside)}")
    return wrong + [f"outside: {file}" for file in outside]


def many(place: Path, count: int) -> list[str]:
    """So many cheap parts: made, then kept."""
    parts, out = parts_in(place / "parts", count), place / "out"
    took = []
    for _ in range(2):
        begun = time.time()
        run = done("sheet", parts, "-o", out, "--html", "--format", "json", timeout=86400)
        took.append(time.time() - begun)
        statuses = Counter(json.loads(line)["status"] for line in run.stdout.splitlines())
        print(f"many: {count} parts, status {run.returncode}, {dict(statuses)}, {took[-1]:.0f} s", flush=True)
        if run.returncode or whole(out) != (count, []):
            return [run.stderr[:300]]
    return [] if took[1] < 0.05 * took[0] else [f"the second run took {took[1]:.0f} of {took[0]:.0f} s"]


WAYS = ("kills", "disk", "readonly", "vanish", "clock", "names", "many")


def main() -> None:
    """Runs what is asked for, else all of it."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("ways", nargs="*", choices=[*WAYS, []], default=[])
    asked.add_argument("--kills", type=int, default=200)
    asked.add_argument("--parts", type=int, default=10_000)
    asked.add_argument("--seed", type=int, default=0)
    options = asked.parse_args()
    chance, wrong = random.Random(options.seed), list[str]()
    for way in options.ways or WAYS:
        with tempfile.TemporaryDirectory(prefix=f"hard-{way}-") as place:
            given = {"kills": (options.kills, chance), "vanish": (chance,), "many": (options.parts,)}.get(way, ())
            found: list[str] = globals()[way](Path(place), *given)
        print(f"{way}: {'as it should be' if not found else 'WRONG'}", flush=True)
        wrong += found
    print("\n".join(wrong))
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
