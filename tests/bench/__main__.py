"""Times what the tool promises, as ratios measured in one run: ``python -m tests.bench``."""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from gen import chance
from tests.bench import line, posting, proving, reading, sizing
from tests.bench.rows import SAMPLE

IMPORTS = "import click, pydantic, jinja2, numpy"
MAIN = "from gen.cli import main; main()"


def main() -> None:
    """Print every figure; nothing is asserted here."""
    whole_write()
    reading.main()
    proving.main()
    posting.main()
    line.main()
    simulation()
    print(f"peak memory of all this    {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000:7.0f} MB")


def whole_write() -> None:
    """A whole ``write`` in a fresh process against the bare imports, in pairs."""
    with tempfile.TemporaryDirectory() as folder:
        out = str(Path(folder) / "program.nc")
        command = [sys.executable, "-c", MAIN, "write", str(SAMPLE), "--out", out, "--force"]
        pairs = [(_run(command), _run([sys.executable, "-c", IMPORTS])) for _ in range(12)][2:]
    ratio = statistics.median(ours / bare for ours, bare in pairs)
    ours, bare = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"write of five mains        {ours * 1e3:7.0f} ms   {ratio:5.2f} of the bare imports ({bare * 1e3:.0f} ms)")


def simulation() -> None:
    """Rows of bores simulated in a second, of one core."""
    seconds, _ = sizing.speed()
    print(
        f"simulation                 {chance.ROWS / seconds / 1e6:7.2f} million rows of {sizing.BORES} bores a second"
    )


def _run(command: list[str]) -> float:
    """Seconds a process takes, with compiled modules kept as an installed program has them."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    started = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environment)
    return time.perf_counter() - started


if __name__ == "__main__":
    main()
