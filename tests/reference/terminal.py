"""`layrule route` on a terminal: it says how far it has come, and leaves nothing of that behind.

    python3 tests/reference/terminal.py target/debug/layrule

Asks the operating system for a pseudo-terminal, so that nothing but Python is needed.
"""

import os
import pty
import re
import select
import subprocess
import sys
import tempfile

PLAN = """\
kit K-70 {
  output       700 W at 230 V
  length       70 m
  diameter     6 mm
  bend-radius  25 mm
  tail         3 m
  screen       earthed
}

room hall {
  outline     (0, 0) (3400, 0) (3400, 2200) (0, 2200)
  junction    j  (3400, 400) height 300
  thermostat  t  (3400, 700) height 1200 rated 16 A

  cable a {
    kit  K-70
  }
}
"""


def on_terminal(program, folder, *more):
    """What is written to standard error where that is a terminal."""
    master, slave = pty.openpty()
    process = subprocess.Popen(
        [program, "route", "hall.lay", "--time", "60", *more],
        cwd=folder,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=slave,
        env={**os.environ, "TERM": "xterm", "NO_COLOR": "1"},
    )
    os.close(slave)
    said = b""
    while select.select([master], [], [], 120)[0]:
        try:
            part = os.read(master, 4096)
        except OSError:
            break
        if not part:
            break
        said += part
    process.wait()
    return said.decode()


def left(said):
    """What is left on the screen: each line as it was last written, cleared ones gone."""
    lines = []
    for line in said.replace("\r\n", "\n").split("\n"):
        line = re.split(r"\r?\x1b\[2K|\x1b\[1A", line)[-1].split("\r")[-1]
        lines.append(re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", line).strip())
    return [line for line in lines if line]


with tempfile.TemporaryDirectory() as folder:
    with open(os.path.join(folder, "hall.lay"), "w", encoding="utf-8") as file:
        file.write(PLAN)
    program = os.path.abspath(sys.argv[1])
    said = on_terminal(program, folder)
    assert re.search(r"laying cable in room `hall`: \d+\.\d s of 60 s", said), repr(said)
    kept = left(said)
    assert kept and all("laying cable" not in line for line in kept), kept
    assert "from run to run" in kept[-1], kept
    assert "laying cable" not in on_terminal(program, folder, "--quiet")
    plain = subprocess.run([program, "route", "hall.lay"], cwd=folder, capture_output=True, text=True, check=False)
    assert "laying cable" not in plain.stderr, plain.stderr
print("a terminal is told how far laying has come, and nothing of it stays")
