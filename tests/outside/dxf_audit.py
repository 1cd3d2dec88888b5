"""Reads points.dxf with a general DXF library, audits it and compares every coordinate with points.csv.

    pip install ezdxf==1.4.5
    hubtrace fabricate rear.toml --out sheets
    python3 tests/outside/dxf_audit.py sheets

A file that needs one repair, or a coordinate that is off by more than 1e-9 mm, ends with an error.
"""

import csv
import sys
from pathlib import Path

import ezdxf
from ezdxf import recover

TOLERANCE_MM = 1e-9
LAYERS = {"PICKUPS", "POINTS", "DATUMS", "LINKS", "HALFSHAFTS", "SPRINGS", "FRAME", "NAMES", "NOTES"}


def main(folder: Path) -> None:
    strict = ezdxf.readfile(folder / "points.dxf")
    auditor = strict.audit()
    assert not auditor.errors and not auditor.fixes, (auditor.errors, auditor.fixes)
    lenient, auditor = recover.readfile(folder / "points.dxf")
    assert not auditor.errors and not auditor.fixes, (auditor.errors, auditor.fixes)
    assert strict.dxfversion == "AC1009", strict.dxfversion
    assert LAYERS <= {layer.dxf.name for layer in strict.layers}

    rows = list(csv.DictReader((folder / "points.csv").open(encoding="utf-8")))
    drawing = strict.modelspace()
    points = [point.dxf.location for point in drawing.query("POINT")]
    names = [text.dxf.text for text in drawing.query('TEXT[layer=="NAMES"]')]
    assert len(points) == len(names) == len(rows), (len(points), len(names), len(rows))
    worst = 0.0
    for row, point, name in zip(rows, points, names):
        off = max(abs(float(row[f"{axis}_mm"]) - getattr(point, axis)) for axis in "xyz")
        worst = max(worst, off)
        assert row["point"].lstrip("'") == name.replace("%%%", "%"), (row["point"], name)
    assert worst <= TOLERANCE_MM, worst
    ends = {tuple(point) for point in points}
    links = drawing.query('LINE[layer=="LINKS"]')
    assert len(links) % 5 == 0 and len(links) > 0, len(links)
    assert all(tuple(link.dxf.start) in ends and tuple(link.dxf.end) in ends for link in links)
    print(f"{len(points)} points, {len(links)} links, no repair, worst {worst:.1e} mm")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "hubtrace-out"))
