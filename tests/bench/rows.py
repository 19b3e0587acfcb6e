"""Long rows to time."""

from pathlib import Path

SAMPLE = Path(__file__).parents[2] / "samples" / "harbour-pump.toml"


def row_of(bores: int, folder: Path) -> Path:
    """A job of so many bores, the sample's otherwise, in a folder."""
    text = SAMPLE.read_text(encoding="utf-8")
    head = text[: text.index("[[bore]]")].replace("x = [-900, 100]", "x = [-90000, 100]")
    rows = [f'[[bore]]\nname = "{n}"\nface = {-n * 12}\nwidth = 5\ndiameter = 84.0\n' for n in range(bores)]
    path = folder / f"row-{bores}.toml"
    path.write_text(head + "\n".join(rows), encoding="utf-8")
    return path
